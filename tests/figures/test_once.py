"""What is worked out of a leg, worked out once."""

from __future__ import annotations

from tests.figures.reminding.told import icp, leg
from voice.figures.once import once

LEG = leg((1, icp(14)))


def test_the_same_leg_is_worked_out_once_and_any_other_anew() -> None:
    """Only the very object counts: an equal leg may have been made after another event."""
    asked = []

    @once
    def work(leg: object) -> int:
        asked.append(leg)
        return len(asked)

    assert [work(LEG), work(LEG)] == [1, 1]
    assert [work(LEG.model_copy()), work(LEG)] == [2, 3]
