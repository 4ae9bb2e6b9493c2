"""Minutes of a night in flight; ``python -m tests.session.soak`` flies all of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.session.soak import fly, unlike

if TYPE_CHECKING:
    from pathlib import Path


def test_what_is_unlike_is_found() -> None:
    """A missing, a changed and an added entry are told, and nothing else."""
    assert unlike(list("abcdef"), list("acxefg")) == [("b", ""), ("d", "x"), ("", "g")]


@pytest.mark.slow
def test_minutes_in_a_cabin(tmp_path: Path) -> None:
    """Every entry is kept as it was said, at its time, and every loss of sound is told."""
    flown = fly(tmp_path, hours=2.5 / 60, every_s=15, loss_every_s=40)
    assert len(flown.leg.entries) == 10
    assert flown.differences() == []
    assert flown.leg.passed_over == 3
    assert flown.told_s() == flown.lost_s() == [0.1, 0.3, 0.6]
    assert all(0 < late_s < 1 for [late_s] in flown.late_s().values())
