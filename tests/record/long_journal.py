"""How long a long journal takes to open, and to verify but for its sound: ``python -m tests.record.long_journal``."""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
from contextlib import closing
from itertools import count, islice
from pathlib import Path
from typing import TYPE_CHECKING

from tests.record.conftest import START, at, heard, kept
from tests.record.kills import protect
from voice.entries.leg import LegSettings
from voice.record.chain import Head, Row, next_row
from voice.record.events import Clip, Confirmed, Noticed, to_text
from voice.record.journal import Journal
from voice.record.part import Part
from voice.record.shelf import verify

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from voice.record.events import Event


def events() -> Iterator[Event]:
    """An endless leg: each pressure is heard, kept, and its "confirm" heard and kept as well."""
    for number in count(1):
        minute = number / 60
        yield heard(Clip(name=f"{2 * number:04}.flac", sha256="c" * 64))
        yield kept(number, 10 + number % 20, minute=minute)
        yield heard(Clip(name=f"{2 * number + 1:04}.flac", sha256="c" * 64))
        yield Confirmed(at=at(minute), number=number)


def write(folder: Path, length: int) -> None:
    """Write a leg of so many events."""
    with Journal.create(folder, LegSettings(), START, grammar_digest="", model_digest=""):
        pass
    append(folder, islice(events(), length - 1))


def append(folder: Path, events: Iterable[Event]) -> None:
    """Add events to a leg, all in one transaction: that is quick, and reads the same."""
    with Journal.open(folder, START) as journal:
        head = journal.head
    rows: list[Row] = []
    for event in events:
        rows.append(next_row(head, to_text(event)))
        head = Head(rows[-1].number, rows[-1].hash)
    with closing(Part(folder / "journal.sqlite")) as part, (folder / "head").open("a") as heads:
        part.append_all(rows)
        heads.writelines(f"\n{row.number} {row.hash}" for row in rows)


def opened(folder: Path) -> None:
    """As a start of the program does: every hash is checked meanwhile."""
    Journal.open(folder, at(0)).close()


def append_ms(folder: Path, times: int) -> list[float]:
    """How long one event takes until it is safe, so often, in order of length."""
    with Journal.open(folder, at(0)) as journal:
        taken = []
        for number in range(times):
            began_s = time.perf_counter()
            journal.append(Noticed(at=at(0), text=f"Notice {number}."))
            taken.append((time.perf_counter() - began_s) * 1000)
    return sorted(taken)


def taken_s(work: Callable[[Path], object], folder: Path) -> tuple[float, float]:
    """Processor time of the work, and how long it was waited for: on a busy machine these differ."""
    worked_s, began_s = time.process_time(), time.perf_counter()
    work(folder)
    return time.process_time() - worked_s, time.perf_counter() - began_s


def main() -> None:
    """Write, open and verify it, and tell how long that took."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--events", type=int, default=100_000)
    parser.add_argument("--times", type=int, default=5)
    parser.add_argument("--folder", type=Path, help="where; else a temporary folder")
    parser.add_argument("--protected", action="store_true", help="a leg that is kept encrypted")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=asked.folder) as temporary:
        os.environ["LEGBOOK_HOME"] = temporary
        if asked.protected:
            protect()
        folder = Path(temporary) / "leg"
        write(folder, asked.events)
        for name, work in (("open", opened), ("verify", verify)):
            worked_s, waited_s = min(taken_s(work, folder) for _ in range(asked.times))
            sys.stdout.write(
                f"{asked.events} events, {name}: {worked_s:.2f} s of processor time at best, "
                f"waited for {waited_s:.2f} s\n"
            )
        taken = append_ms(folder, 200)
        sys.stdout.write(
            f"append: median {taken[100]:.1f} ms, at best {taken[0]:.1f}, 95 % {taken[190]:.1f}\n"
        )


if __name__ == "__main__":
    main()
