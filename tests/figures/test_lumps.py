from __future__ import annotations

from datetime import UTC
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.figures.conftest import START, at, entries
from voice.entries.kinds.drain import ChamberReading, DrainClamped, Drained, DrainOpened
from voice.figures.lumps import Lump, lumps
from voice.figures.output import output

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

CLAMP = DrainClamped()
OPEN = DrainOpened()


def found(*told: tuple[float, Entry]) -> list[tuple[float, float, float, float]]:
    """Start, minutes open, minutes closed before, and mL of each lump."""
    leg = entries(*told)
    return [
        ((lump.opened_at - START).total_seconds() / 60, lump.minutes, lump.closed_before_min,
         lump.volume_ml)
        for lump in lumps(leg, output(leg, START, UTC).increments)
    ]  # fmt: skip


def drained(volume_ml: float) -> Drained:
    """A drained volume."""
    return Drained(volume_ml=volume_ml)


def test_short_openings_with_output_are_lumps() -> None:
    """Closed 40 min, open 5, closed 35, open 4, closed: 10 mL and 12 mL in two lumps."""
    assert found(
        (0, CLAMP), (40, OPEN), (45, CLAMP), (46, drained(10)), (80, OPEN), (84, CLAMP), (85, drained(12)),
    ) == [(40, 5, 40, 10), (80, 4, 35, 12)]  # fmt: skip


def test_a_chamber_read_after_both_is_shared_by_the_time_open() -> None:
    """15 mL between two readings, over 5 and 10 min open, are 5 mL and 10 mL."""
    assert found(
        (0, CLAMP), (1, ChamberReading(volume_ml=0)), (40, OPEN), (45, CLAMP), (80, OPEN), (90, CLAMP),
        (95, ChamberReading(volume_ml=15)),
    ) == [(40, 5, 40, 5), (80, 10, 35, 10)]  # fmt: skip


def test_what_drained_while_it_was_open_for_long_is_no_lump() -> None:
    """A drain that is closed for a reading each hour, or for one move, drains as it should."""
    told: list[tuple[float, Entry]] = [(0, OPEN)]
    for hour in (60, 120, 180):
        told += [(hour, DrainClamped(reason="reading")), (hour + 2, OPEN), (hour + 3, drained(8))]
    assert found(*told) == []


def test_one_lump_is_no_way_of_draining() -> None:
    """A single short opening, and an opening in which nothing drained, are not told."""
    assert found((0, CLAMP), (40, OPEN), (45, CLAMP), (46, drained(10))) == []
    assert found(
        (0, CLAMP), (40, OPEN), (45, CLAMP), (46, drained(10)), (80, OPEN), (84, CLAMP)
    ) == []  # fmt: skip


@pytest.mark.parametrize(("open_min", "count"), [(15, 2), (15.5, 0)])
def test_a_lump_lasts_a_quarter_of_an_hour_at_most(open_min: float, count: int) -> None:
    """Fifteen minutes open are a lump still, more are not."""
    told: list[tuple[float, Entry]] = [(0, CLAMP)]
    for start in (40, 100):
        told += [(start, OPEN), (start + open_min, CLAMP), (start + open_min + 1, drained(5))]
    assert len(found(*told)) == count


def test_a_lump_is_shorter_than_the_closing_before_it() -> None:
    """A drain that is open as long as it is closed does not drain in lumps."""
    told: list[tuple[float, Entry]] = [(0, CLAMP)]
    for start in (10, 30, 50):
        told += [(start, OPEN), (start + 10, CLAMP), (start + 11, drained(5))]
    assert found(*told) == []


@given(
    st.lists(
        st.tuples(
            st.integers(0, 300),
            st.one_of(
                st.sampled_from([CLAMP, OPEN]),
                st.integers(0, 20).map(float).map(drained),
                st.integers(0, 60).map(lambda ml: ChamberReading(volume_ml=ml)),
            ),
        ),
        max_size=16,
    )
)
def test_lumps_never_hold_more_than_the_output(told: list[tuple[float, Entry]]) -> None:
    """Whatever is told, the lumps are in order, apart, and no more than all that drained."""
    leg = entries(*told)
    out = output(leg, START, UTC)
    made: tuple[Lump, ...] = lumps(leg, out.increments)
    assert sum(lump.volume_ml for lump in made) <= out.total_ml + 1e-9
    for earlier, later in pairwise(made):
        assert earlier.closed_at < later.opened_at
    assert all(lump.opened_at < lump.closed_at <= at(300) for lump in made)
