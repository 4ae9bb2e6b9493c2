"""Minutes of a night in flight; ``python -m tests.session.soak`` flies all of it."""

from __future__ import annotations

from collections import deque
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.session.cabin import Cabin, Doing
from tests.session.soak import fly, unlike
from voice.entries.kinds.drain import Drained

if TYPE_CHECKING:
    from tests.session.soak import Flown

MOST_MB = 300.0
"""What the program may hold in memory, at any time of a night."""
GROWS_MB = 20.0
"""What may come on top after the first minute, in so short a flight: each sound that the script plays is
kept, and so is what the program makes of the first phrases of a kind."""


def test_what_is_unlike_is_found() -> None:
    """A missing, a changed and an added entry are told, and nothing else."""
    assert unlike(list("abcdef"), list("acxefg")) == [("b", ""), ("d", "x"), ("", "g")]


def test_the_nurse_says_again_what_was_not_kept() -> None:
    """Asked to, she says her last entry and what followed it once more, before anything else."""
    done, entry, confirm, next_one = (
        Doing(Path(name), 0, (Drained(volume_ml=6),) if name == "entry" else ())
        for name in ("done", "entry", "confirm", "next")
    )
    cabin = Cabin(deque([next_one]), deque(), lasts_never)
    cabin.said += [(1.0, done), (2.0, entry), (3.0, confirm)]
    cabin.again()
    assert (list(cabin.doings), cabin.said) == ([entry, confirm, next_one], [(1.0, done)])


def short_flight(folder: Path) -> tuple[Flown, list[float]]:
    """Ten entries in two and a half minutes, and what the program held in memory after each minute, in MB."""
    flown = fly(folder, hours=2.5 / 60, every_s=15, loss_every_s=40)
    flown.cabin.speaking_until = lasts_never  # what is handed on to another process has no mouth
    return flown, [one.memory_mb for one in flown.cabin.minutes if one.memory_mb]


def lasts_never() -> float:
    """Nothing speaks any more."""
    return 0.0


@pytest.mark.slow
def test_minutes_in_a_cabin(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every entry is kept as it was said, at its time, and every loss of sound is told.

    A program in which nothing was compiled before holds at most 300 MB, and no more at the end.
    """
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    apart = ProcessPoolExecutor(1, mp_context=get_context("spawn"))
    with apart:
        flown, memory_mb = apart.submit(short_flight, tmp_path).result()
    assert len(flown.leg.entries) == 10
    assert flown.differences() == []
    assert flown.leg.passed_over == 3
    assert flown.told_s() == flown.lost_s() == [0.1, 0.3, 0.6]
    assert all(0 < late_s < 1 for [late_s] in flown.late_s().values())
    assert max(memory_mb) <= MOST_MB
    assert memory_mb[-1] - memory_mb[0] <= GROWS_MB
