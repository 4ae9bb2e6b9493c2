from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.figures.conftest import at, entries
from voice.entries.kinds.drain import DrainClamped, DrainOpened, DrainZeroed
from voice.entries.kinds.drain_care import CatheterOut, DisconnectionStep, Stopcocks
from voice.entries.leg import EntryState
from voice.figures.drain import clamp_periods, share, standing

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

CLAMP = DrainClamped(reason="transfer")
OPEN = DrainOpened()
OUT = CatheterOut()
LINE_CLAMPED = DisconnectionStep(step="line clamped")
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


def test_a_catheter_that_came_out_leaves_no_drain_to_be_closed() -> None:
    """A clamping ends when the catheter comes out; opening or turning stopcocks on then brings none back."""
    assert periods((5, CLAMP), (13, OUT)) == [(8, True)]
    assert periods((5, OFF), (13, OUT), (20, ON)) == [(8, True)]
    assert [p.catheter_out for p in clamp_periods(entries((5, CLAMP), (13, OUT)))] == [True]
    assert [p.catheter_out for p in clamp_periods(entries((5, CLAMP), (13, OPEN)))] == [False]
    out = standing(entries((5, CLAMP), (13, OUT), (14, OUT)))
    assert out is not None
    assert (out.at, out.told) == (at(13), OUT)
    assert periods((5, CLAMP), (13, OUT), (20, CLAMP)) == [(8, True), (40, False)]


def closed_at(told: list[tuple[float, Entry, EntryState]], minute: float) -> bool:
    """Whether the drain is closed at a minute, told anew from all that happened by then.

    Since it was last open or out, it was clamped, or the stopcocks stand off.
    """
    counting = (EntryState.CONFIRMED, EntryState.UNCONFIRMED, EntryState.REVIEWED)
    by_then = sorted(
        (at_minute, place, entry)
        for place, (at_minute, entry, state) in enumerate(told)
        if state in counting and at_minute <= minute
    )
    since: list[Entry] = []
    for _, _, entry in by_then:
        since = [] if entry in (OPEN, OUT) else [*since, entry]
    stopcocks = [entry for entry in since if entry in (OFF, ON)]
    return any(entry in (CLAMP, LINE_CLAMPED) for entry in since) or stopcocks[-1:] == [OFF]


@given(
    st.lists(
        st.tuples(
            st.integers(-30, 200),
            st.sampled_from([CLAMP, OPEN, OFF, ON, LINE_CLAMPED, OUT]),
            st.sampled_from(list(EntryState)),
        ),
        max_size=14,
        unique_by=lambda one: one[0],
    )
)
def test_closed_minutes_are_those_counted_one_by_one(
    told: list[tuple[float, Entry, EntryState]],
) -> None:
    """However and in whatever order it is told, the time closed is the number of minutes that were closed."""
    found = entries(*((minute, entry) for minute, entry, _ in told))
    found = tuple(
        e.model_copy(update={"state": s}) for e, (_, _, s) in zip(found, told, strict=True)
    )
    periods = clamp_periods(found)
    one_by_one = [minute for minute in range(-30, 200) if closed_at(told, minute)]
    assert sum(p.minutes(at(200)) for p in periods) == len(one_by_one)
    within = sum(0 <= minute < 150 for minute in one_by_one)
    assert share(periods, at(0), at(150)) == pytest.approx(within / 150)
    last = standing(found)
    is_closed = last is not None and isinstance(last.told, DrainClamped)
    assert is_closed == closed_at(told, 200)


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
