"""The same work for many seeds, in many processes: the long forms of what draws by chance."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable, Iterable, Iterator

Part = TypeVar("Part")
Result = TypeVar("Result")


def seeds(text: str) -> range:
    """``7``, or ``1-40``; raises ValueError."""
    first, _, last = text.partition("-")
    return range(int(first), int(last or first) + 1)


def add_to(parser: argparse.ArgumentParser) -> None:
    """The options of a command that can be spread."""
    parser.add_argument("--seeds", type=seeds, default=seeds("1"), help="7, or 1-40")
    add_processes_to(parser)


def add_processes_to(parser: argparse.ArgumentParser) -> None:
    """The option alone, where nothing is drawn."""
    parser.add_argument("--processes", type=int, default=1, help="how many work side by side")


def spread(
    work: Callable[[Part], Result], over: Iterable[Part], processes: int
) -> Iterator[Result]:
    """What ``work`` gives for each, in their order; each process begins anew, without what this one holds.

    ``work`` and what it takes and gives have to be picklable.
    """
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        yield from pool.map(work, over)


def told(over: range) -> str:
    """Which seeds, for a line of a table."""
    return f"seed {over[0]}" if len(over) == 1 else f"seeds {over[0]} to {over[-1]}"
