from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.figures.conftest import entries
from voice.entries.kinds.neuro import ComaParts, ComaScore
from voice.figures.coma import disagreements

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

PARTS = ComaParts(eyes=2, verbal=1, motor=5)
TUBE = ComaParts(eyes=2, verbal="tube", motor=5)


@pytest.mark.parametrize(
    ("told", "agrees"),
    [
        ([(0, PARTS), (1, ComaScore(total=8))], True),
        ([(0, PARTS), (1, ComaScore(total=7))], False),
        ([(0, TUBE), (1, ComaScore(total=7))], True),
        ([(0, TUBE), (1, ComaScore(total=8))], True),
        ([(0, TUBE), (1, ComaScore(total=9))], False),
        ([(0, PARTS), (6, ComaScore(total=12))], True),
        ([(2, ComaScore(total=8)), (0, ComaParts(eyes=4, verbal=5, motor=6)), (3, PARTS)], True),
        ([(0, ComaScore(total=9))], True),
    ],
)
def test_a_total_has_to_be_that_of_its_parts(told: list[tuple[float, Entry]], agrees: bool) -> None:
    """Of one check the nearest parts add up to the total; with a tube, with or without its 1."""
    assert (not disagreements(entries(*told))) is agrees
