"""How an hour fills, its rate, and where that leads."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.figures.conftest import START, at
from voice.figures.hour_so_far import HourSoFar, filled
from voice.figures.output import Increment

HOUR = timedelta(hours=1)


def test_the_case_worked_by_hand() -> None:
    """6 mL from 13:50 to 14:10 are 3 in the hour; 5 more by 14:30: 8 in 30 min, 16 an hour, 16 by 15:00."""
    parts = [Increment(at(-10), at(10), 6), Increment(at(10), at(30), 5)]
    first, second = filled(parts, START)
    assert (first.volume_ml, first.covered, first.ml_per_hour) == (3, timedelta(minutes=10), None)
    assert first.projected_ml(START) == 3, "10 min are too few to go by"
    assert (second.at, second.volume_ml, second.ml_per_hour) == (at(30), 8, 16)
    assert second.projected_ml(START) == 16


def test_a_quarter_of_an_hour_is_enough() -> None:
    """From 15 min on there is a rate; what was not covered before is not invented by it."""
    (found,) = filled([Increment(at(30), at(45), 4)], START)
    assert found.ml_per_hour == 16
    assert found.projected_ml(START) == 8, "4 so far, and 4 more in the quarter that is left"
    (short,) = filled([Increment(at(30), at(44.9), 4)], START)
    assert short.ml_per_hour is None


def test_other_hours_have_their_own() -> None:
    """What drained up to the hour, or from its end on, is not in it; a volume of one moment is."""
    assert filled([Increment(at(-30), START, 4), Increment(at(60), at(70), 4)], START) == []
    assert filled([Increment(at(5), at(5), 4)], START) == [HourSoFar(at(5), 4, timedelta())]


@given(st.lists(st.tuples(st.integers(1, 40), st.integers(1, 30)), min_size=1, max_size=8))
def test_the_last_is_all_that_drained_in_the_hour(told: list[tuple[int, int]]) -> None:
    """Each hour ends with the volume that the ledger counts for it."""
    parts, minute = [], 0.0
    for minutes, volume_ml in told:
        parts.append(Increment(at(minute), at(minute + minutes), float(volume_ml)))
        minute += minutes
    hours = [START + HOUR * n for n in range(int(minute // 60) + 1)]
    ends = [filled(parts, hour)[-1:] for hour in hours]
    assert sum(end.volume_ml for (end,) in filter(None, ends)) == pytest.approx(
        sum(volume_ml for _, volume_ml in told)
    )
