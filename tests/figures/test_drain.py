from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from hypothesis import given
from hypothesis import strategies as st

from tests.figures.conftest import at, entries
from voice.entries.kinds.drain import DrainClamped, DrainOpened, DrainZeroed
from voice.entries.kinds.drain_care import DisconnectionStep, Stopcocks
from voice.figures.drain import clamp_periods, share, standing

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

CLAMP = DrainClamped(reason="transfer")
OPEN = DrainOpened()
OFF, ON = Stopcocks(position="off"), Stopcocks(position="on")


def periods(*told: tuple[float, Entry]) -> list[tuple[float, bool]]:
    """Length in minutes of each clamp period at minute 60, and whether it has ended."""
    return [(p.minutes(at(60)), p.end_at is not None) for p in clamp_periods(entries(*told))]


def test_from_clamping_to_opening() -> None:
    """A period runs from clamping to opening, an open one to the moment that is asked about."""
    assert periods((5, CLAMP), (13, OPEN), (40, CLAMP)) == [(8, True), (20, False)]
    assert periods((70, CLAMP)) == [(0, False)]


def test_the_share_of_the_leg() -> None:
    """Closed from 5 min before the leg to 10 in it, and from 40 on, of 60 min: half of the time."""
    found = clamp_periods(entries((-5, CLAMP), (10, OPEN), (40, CLAMP)))
    assert share(found, at(0), at(60)) == 0.5
    assert share(found, at(0), at(0)) == 0
    assert share(found, at(20), at(30)) == 0


def test_what_changes_nothing_is_passed_over() -> None:
    """Clamping twice is one period, and opening an open drain is none."""
    assert periods((1, OPEN), (5, CLAMP), (7, DrainClamped()), (13, OPEN), (14, OPEN)) == [
        (8, True)
    ]


def test_the_reason_is_the_first() -> None:
    """A period has the reason that was said when it began."""
    told = entries((5, CLAMP), (7, DrainClamped(reason="scan")))
    assert [p.reason for p in clamp_periods(told)] == ["transfer"]


def test_it_stands_since_it_was_first_said() -> None:
    """Saying again that the drain is clamped, or open, makes it no later."""
    clamped = standing(entries((1, OPEN), (5, CLAMP), (7, DrainClamped(reason="scan"))))
    assert clamped is not None
    assert (clamped.at, clamped.told) == (at(5), CLAMP)
    opened = standing(entries((5, CLAMP), (13, OPEN), (14, OPEN)))
    assert opened is not None
    assert opened.at == at(13)
    assert standing(entries((5, DrainZeroed()))) is None


def test_stopcocks_off_close_the_drain() -> None:
    """From both stopcocks off to both on again it is closed, unless a clamp still closes it."""
    assert periods((5, OFF), (13, ON)) == [(8, True)]
    assert periods((5, CLAMP), (6, OFF), (13, ON), (20, OPEN)) == [(15, True)]
    assert periods((5, OFF), (6, CLAMP), (13, OPEN)) == [(8, True)]
    assert periods((5, ON)) == []


def test_a_line_clamped_after_it_came_apart_closes_the_drain() -> None:
    """It is closed until it is said to be open: connecting the line again opens nothing."""
    clamped = DisconnectionStep(step="line clamped")
    again = DisconnectionStep(step="line reconnected")
    assert periods((5, clamped), (10, again)) == [(55, False)]
    assert periods((5, clamped), (10, again), (15, OPEN)) == [(10, True)]


@given(
    st.lists(st.tuples(st.integers(0, 59), st.sampled_from([CLAMP, OPEN, OFF, ON])), max_size=12)
)
def test_periods_never_overlap(told: list[tuple[float, Entry]]) -> None:
    """Periods follow each other, only the last may be open, and they fit into the time."""
    found = clamp_periods(entries(*told))
    for earlier, later in pairwise(found):
        assert earlier.end_at is not None
        assert earlier.end_at <= later.start_at
    assert sum(p.minutes(at(60)) for p in found) <= 60
