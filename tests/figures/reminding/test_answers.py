"""A reminder is said, answered or not, and comes again only as its row says."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Literal

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.figures.reminding.told import after, at, changed, due_at, due_from, icp, leg
from voice.entries.kinds.drain import (
    ChamberEmptied,
    ChamberReading,
    DrainClamped,
    DrainLevel,
    DrainOpened,
    StopcockClosed,
)
from voice.entries.kinds.drain_care import LineDisconnected
from voice.entries.kinds.order import OrderHourlyLimit, OrderPressureInterval
from voice.entries.kinds.patient import HeadOfBed
from voice.entries.leg import EntryState
from voice.figures.reminding import due, unanswered
from voice.figures.reminding.table import TABLE

if TYPE_CHECKING:
    from voice.entries.kinds import Entry
    from voice.entries.leg import Leg
    from voice.entries.reminder import ReminderTurn

CLOSED = leg((1, DrainClamped(reason="reading")), (2, icp(14)))
"""A drain that was closed at minute 1: "drain closed" is due from minute 6 on."""


def test_what_nobody_answered_comes_again_once() -> None:
    """Said at minute 6, it is due once more from minute 16 on, and then no more."""
    said = after(CLOSED, "drain closed", 6)
    assert due_from(said, "drain closed", 16)
    assert not due_at(after(said, "drain closed", 17), "drain closed", 600)


def test_a_line_that_came_apart_comes_again_twice() -> None:
    """Due after two minutes, it is due again three and eight minutes after it was said."""
    said = after(leg((1, LineDisconnected())), "line disconnected", 3)
    assert due_from(said, "line disconnected", 6)
    said = after(said, "line disconnected", 6)
    assert due_from(said, "line disconnected", 11)
    assert not due_at(after(said, "line disconnected", 11), "line disconnected", 600)


def test_what_was_acknowledged_never_comes_again() -> None:
    """However long its cause goes on, and whether it had been said once or postponed before."""
    said = after(CLOSED, "drain closed", 6)
    assert not due_at(after(said, "drain closed", 7, "acknowledged"), "drain closed", 600)
    late = after(after(said, "drain closed", 7, "postponed", 17), "drain closed", 17)
    assert not due_at(after(late, "drain closed", 18, "acknowledged"), "drain closed", 600)


def test_what_was_postponed_comes_when_the_time_is_over() -> None:
    """Then it is said as if for the first time: once more if nobody answers, or later still."""
    later = after(after(CLOSED, "drain closed", 6), "drain closed", 7, "postponed", 37)
    assert due_from(later, "drain closed", 37)
    said = after(later, "drain closed", 38)
    assert due_from(said, "drain closed", 48)
    assert due_from(after(said, "drain closed", 39, "postponed", 44), "drain closed", 44)


def test_a_cause_that_recurs_is_another_reminder() -> None:
    """The drain opened and closed again is due again, though the first time was acknowledged."""
    told = leg(
        (1, DrainClamped(reason="reading")), (20, DrainOpened()), (30, DrainClamped(reason="reading"))
    )  # fmt: skip
    done = after(after(told, "drain closed", 6), "drain closed", 7, "acknowledged")
    assert due_from(done, "drain closed", 35)


def test_a_cause_that_is_gone_is_not_due_though_it_was_postponed() -> None:
    """Opened in the meantime, the drain is asked about no more; nor when its closing was taken back."""
    told = leg((1, DrainClamped(reason="reading")), (20, DrainOpened()))
    later = after(after(told, "drain closed", 6), "drain closed", 7, "postponed", 30)
    assert not due_at(later, "drain closed", 30)
    withdrawn = after(after(CLOSED, "drain closed", 6), "drain closed", 7, "postponed", 30)
    withdrawn = changed(withdrawn, 1, state=EntryState.WITHDRAWN)
    assert not due_at(withdrawn, "drain closed", 30)


def test_the_emergency_comes_first() -> None:
    """Where several are due, they come in the table's order, and only the emergency is urgent."""
    told = leg((0, ChamberEmptied()), (1, LineDisconnected()))
    found = due(told, at(20))
    assert [one.key.rule for one in found][:2] == ["line disconnected", "way to the bag"]
    assert [one.urgent for one in found][:2] == [True, False]


def test_only_the_last_that_was_said_can_be_answered() -> None:
    """Until it is acknowledged or postponed."""
    assert unanswered(CLOSED) is None
    said = after(CLOSED, "drain closed", 6)
    assert unanswered(said) == said.reminders[0].key
    assert unanswered(after(said, "drain closed", 7, "acknowledged")) is None


# --- any leg -----------------------------------------------------------------------------------

TELLING: tuple[Entry, ...] = (
    DrainClamped(reason="reading"),
    DrainClamped(),
    DrainOpened(),
    icp(14),
    ChamberEmptied(),
    ChamberReading(volume_ml=0),
    ChamberReading(volume_ml=17),
    StopcockClosed(),
    LineDisconnected(),
    HeadOfBed(angle_deg=30),
    HeadOfBed(angle_deg=15),
    DrainLevel(level_cmh2o=10),
    OrderHourlyLimit(volume_ml=20),
    OrderPressureInterval(minutes=15),
)
legs = st.lists(
    st.tuples(
        st.integers(0, 60),
        st.sampled_from(TELLING),
        st.sampled_from([EntryState.CONFIRMED, EntryState.UNCONFIRMED, EntryState.WITHDRAWN]),
    ),
    max_size=10,
)
answers = st.lists(
    st.sampled_from(["nothing", "nothing", "acknowledged", "postponed"]), min_size=1, max_size=6
)


@settings(max_examples=30)
@given(legs, answers)
def test_no_reminder_is_spoken_twice_within_its_interval(
    told: list[tuple[int, Entry, EntryState]], answered: list[str]
) -> None:
    """Whatever is told and answered: not within its interval, nor too often, nor once acknowledged."""
    found = leg(*((minute, entry) for minute, entry, _ in sorted(told, key=lambda one: one[0])))
    for number, (_, _, state) in enumerate(sorted(told, key=lambda one: one[0]), 1):
        found = changed(found, number, state=state)
    again = {rule.name: rule.again_min for rule in TABLE}
    for count, minute in enumerate(range(0, 150, 2)):
        for reminder in due(found, at(minute)):
            before = [turn for turn in found.reminders if turn.key == reminder.key]
            assert all(turn.became != "acknowledged" for turn in before)
            assert all(turn.until is None or turn.until <= at(minute) for turn in before)
            said = _since_postponed(before)
            spared = again[reminder.key.rule]
            assert len(said) <= len(spared)
            if said:
                assert at(minute) - said[-1].at >= timedelta(minutes=spared[0])
            found = _became(found, reminder.key.rule, minute, "said")
            match answered[count % len(answered)]:
                case "acknowledged":
                    found = _became(found, reminder.key.rule, minute, "acknowledged")
                case "postponed":
                    found = _became(found, reminder.key.rule, minute, "postponed")


def _since_postponed(turns: list[ReminderTurn]) -> list[ReminderTurn]:
    """What was said since it was postponed last."""
    said: list[ReminderTurn] = []
    for turn in turns:
        said = [] if turn.became == "postponed" else [*said, turn]
    return said


def _became(
    leg: Leg, rule: str, minute: int, became: Literal["said", "acknowledged", "postponed"]
) -> Leg:
    return after(leg, rule, minute, became, minute + 10 if became == "postponed" else None)
