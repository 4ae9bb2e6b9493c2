"""Each row of the table: due at the right minute, not before, and cleared."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.figures.reminding.told import at, changed, due_at, due_from, icp, leg
from voice.entries.kinds.drain import (
    ChamberEmptied,
    ChamberReading,
    DrainClamped,
    Drained,
    DrainLevel,
    DrainLevelled,
    DrainOpened,
    DrainZeroed,
    DripsAt,
    StopcockClosed,
)
from voice.entries.kinds.drain_care import CatheterOut, DisconnectionStep, LineDisconnected
from voice.entries.kinds.drugs import DrugGiven, InfusionStarted, LastDose
from voice.entries.kinds.leg import LegMark, UnitCalled, VehicleChange
from voice.entries.kinds.order import (
    OrderClampLimit,
    OrderDoseInterval,
    OrderDrain,
    OrderHourlyLimit,
    OrderPressureInterval,
    OrderZeroInterval,
)
from voice.entries.kinds.patient import HeadOfBed, Position
from voice.entries.kinds.vitals import HeartRate
from voice.entries.leg import EntryState, LegSettings

if TYPE_CHECKING:
    from voice.entries.kinds import Entry
    from voice.entries.leg import Leg

READING = DrainClamped(reason="reading")
CLAMPED = DrainClamped(reason="transfer")
OPEN = DrainOpened()


# --- the drain ---------------------------------------------------------------------------------


def test_a_line_that_came_apart_is_due_after_two_minutes_until_all_is_told() -> None:
    """Two minutes after it, what was not told yet is named; nothing once all was."""
    told = leg((1, LineDisconnected()), (2, DisconnectionStep(step="line clamped")))
    assert due_from(told, "line disconnected", 3)
    (text,) = due_at(told, "line disconnected", 3)
    assert "end covered" in text
    assert "line clamped" not in text
    steps = ("line clamped", "end covered", "site cleaned", "line reconnected")
    done: list[tuple[float, Entry]] = [(2, DisconnectionStep(step=step)) for step in steps]
    every = leg((1, LineDisconnected()), *done, (9, UnitCalled(whom="neurosurgeon")))
    assert due_at(every, "line disconnected", 8.9)
    assert not due_at(every, "line disconnected", 9)


def test_a_drain_closed_for_a_reading_is_due_after_five_minutes() -> None:
    """It says for how long it has been closed, and asks; opening it clears it, also told late."""
    told = leg((1, READING), (2, icp(14)))
    assert due_from(told, "drain closed", 6)
    assert due_at(told, "drain closed", 7.5) == [
        "drain closed for a reading 6 min ago; is it open again? say drain open"
    ]
    assert not due_at(leg((1, READING), (2, icp(14)), (3, OPEN)), "drain closed", 90)
    late = changed(leg((1, READING), (2, icp(14)), (3, OPEN)), 3, spoken_at=at(20))
    assert not due_at(late, "drain closed", 21)
    back = changed(leg((1, READING), (3, OPEN)), 2, state=EntryState.WITHDRAWN)
    assert due_at(back, "drain closed", 6)


def test_a_clamped_drain_is_due_at_the_ordered_limit() -> None:
    """The order decides, whenever it was told; opening the drain clears it."""
    limit = OrderClampLimit(minutes=20)
    told = leg((0, limit), (5, CLAMPED))
    assert due_from(told, "drain clamped", 25)
    assert due_at(told, "drain clamped", 26) == [
        "drain clamped for 21 min, ordered at most 20 min; is it to stay clamped?"
    ]
    assert due_from(leg((5, CLAMPED), (15, limit)), "drain clamped", 25)
    assert not due_at(leg((0, limit), (5, CLAMPED), (24, OPEN)), "drain clamped", 30)
    assert not due_at(leg((0, limit), (5, CLAMPED), (24, CatheterOut())), "drain clamped", 30)


def test_a_clamped_drain_without_an_order_is_due_after_half_an_hour_and_says_so() -> None:
    """The usual half hour is marked as no order; a drain that was ordered clamped stands as it should."""
    told = leg((5, CLAMPED))
    assert due_from(told, "drain clamped", 35)
    assert "no order known" in due_at(told, "drain clamped", 35)[0]
    ordered = OrderDrain(state="clamped")
    assert not due_at(leg((0, ordered), (5, CLAMPED)), "drain clamped", 90)
    limited = leg((0, ordered), (0, OrderClampLimit(minutes=60)), (5, CLAMPED))
    assert due_from(limited, "drain clamped", 65)


@pytest.mark.parametrize(
    ("first", "then", "words"),
    [
        (HeadOfBed(angle_deg=30), HeadOfBed(angle_deg=15), "head of bed changed"),
        (DrainLevel(level_cmh2o=10), DrainLevel(level_cmh2o=15), "drain level changed"),
        (Position(position="supine"), Position(position="on left side"), "patient turned"),
        (HeartRate(rate_per_min=88), VehicleChange(vehicle="helicopter"), "patient moved"),
        (LegMark(mark="at patient"), LegMark(mark="loaded"), "patient moved"),
        (LegMark(mark="departed"), LegMark(mark="unloaded"), "patient moved"),
    ],
    ids=lambda one: getattr(one, "kind", one),
)
def test_what_moved_asks_for_levelling_after_five_minutes(
    first: Entry, then: Entry, words: str
) -> None:
    """A change, not the first telling, is followed by the question; levelling or zeroing clears it."""
    told = leg((1, first), (10, then))
    assert not due_at(told, "leveling", 9)
    assert due_from(told, "leveling", 15)
    assert due_at(told, "leveling", 15) == [
        f"{words} 5 min ago; is the drain leveled again and the chamber upright? say drain leveled"
    ]
    for clearing in (DrainLevelled(), DrainZeroed(), CatheterOut()):
        assert not due_at(leg((1, first), (10, then), (13, clearing)), "leveling", 20)


def test_the_same_again_is_no_change() -> None:
    """The head of the bed told twice at one angle, or a level twice the same, moved nothing."""
    told = leg(
        (1, HeadOfBed(angle_deg=30)), (2, HeadOfBed(angle_deg=30)),
        (3, DrainLevel(level_cmh2o=10)), (4, DrainLevel(level_cmh2o=10, reference="tragus")),
    )  # fmt: skip
    assert not due_at(told, "leveling", 30)


def test_levelling_just_before_is_in_time_and_earlier_is_not() -> None:
    """What is told as the hands allow may come two minutes before the change, and no more."""
    told: list[tuple[float, Entry]] = [(1, HeadOfBed(angle_deg=30)), (10, HeadOfBed(angle_deg=15))]
    assert not due_at(leg(*told, (8, DrainLevelled())), "leveling", 20)
    assert due_at(leg(*told, (7.9, DrainLevelled())), "leveling", 20)


def test_a_level_over_its_reference_levels_and_a_changed_level_does_not() -> None:
    """Told over the tragus, a level was set by it; without it, and for a changed level, it tells nothing."""
    told: list[tuple[float, Entry]] = [(1, HeadOfBed(angle_deg=30)), (10, HeadOfBed(angle_deg=15))]
    over = DrainLevel(level_cmh2o=10, reference="tragus")
    assert not due_at(leg(*told, (12, over)), "leveling", 20)
    assert due_at(leg(*told, (12, DrainLevel(level_cmh2o=10))), "leveling", 20)
    higher = DrainLevel(level_cmh2o=15, reference="tragus")
    assert due_from(leg((1, over), (10, higher)), "leveling", 15)


def test_the_next_change_takes_the_place_of_the_last() -> None:
    """Two changes soon after one another are asked about once, five minutes after the second."""
    told = leg((1, HeadOfBed(angle_deg=30)), (10, HeadOfBed(angle_deg=15)), (12, VehicleChange(vehicle="bed")))  # fmt: skip
    assert due_from(told, "leveling", 17)
    assert len(due_at(told, "leveling", 17)) == 1


def test_an_emptied_chamber_is_due_after_five_minutes() -> None:
    """Until the stopcock is told to be closed, or the chamber is emptied again, which starts anew."""
    told = leg((1, ChamberEmptied()), (40, StopcockClosed()))
    assert due_from(told, "way to the bag", 6)
    assert not due_at(told, "way to the bag", 40)
    twice = leg((1, ChamberEmptied()), (4, ChamberEmptied()))
    assert due_from(twice, "way to the bag", 9)


# --- output ------------------------------------------------------------------------------------

LIMIT = OrderHourlyLimit(volume_ml=20)


def test_output_is_near_the_limit_at_four_fifths_of_it() -> None:
    """15.9 mL of 20 in the hour are not near, 16 mL are; at 20 mL the limit is reached, not near."""
    start: list[tuple[float, Entry]] = [(0, LIMIT), (0, ChamberReading(volume_ml=0))]
    assert not due_at(
        leg(*start, (59, ChamberReading(volume_ml=15.9))), "output near the limit", 59
    )
    near = leg(*start, (59, ChamberReading(volume_ml=16)))
    assert due_at(near, "output near the limit", 59) == [
        "output this hour 16 mL, ordered at most 20 mL; what is in the chamber now?"
    ]
    assert not due_at(near, "output near the limit", 60)
    reached = leg(*start, (59, ChamberReading(volume_ml=20)))
    assert not due_at(reached, "output near the limit", 59)


def test_output_on_the_way_to_the_limit_is_told_as_a_projection() -> None:
    """7 mL in 20 min reach 21 mL in the hour; 6 mL do not reach 20, and in 14 min nothing is projected."""
    start: list[tuple[float, Entry]] = [(0, LIMIT), (0, ChamberReading(volume_ml=0))]
    on_the_way = leg(*start, (20, ChamberReading(volume_ml=7)))
    (text,) = due_at(on_the_way, "output near the limit", 20)
    assert text.startswith(
        "output this hour 7 mL, projected at this rate 21 mL, ordered at most 20 mL"
    )
    for minute, volume_ml in ((20, 6), (14, 7)):
        told = leg(*start, (minute, ChamberReading(volume_ml=volume_ml)))
        assert not due_at(told, "output near the limit", minute)


def test_output_at_the_limit_is_due_five_minutes_after_it_was_told() -> None:
    """With the entry it is remarked; still in that hour it is told with how much it is by then."""
    told = leg(
        (0, LIMIT), (0, ChamberReading(volume_ml=0)), (40, ChamberReading(volume_ml=20)),
        (44, ChamberReading(volume_ml=22)),
    )  # fmt: skip
    assert due_from(told, "output at the limit", 45)
    assert due_at(told, "output at the limit", 45) == [
        "output this hour 22 mL, ordered at most 20 mL; what is in the chamber now?"
    ]
    assert not due_at(told, "output at the limit", 60)


def test_output_without_an_order_is_never_near_anything() -> None:
    """Where no limit was ordered none is assumed; and nothing drained is at no limit."""
    told = leg((0, ChamberReading(volume_ml=0)), (20, ChamberReading(volume_ml=90)))
    none = leg((0, OrderHourlyLimit(volume_ml=0)), (9, Drained(volume_ml=0)))
    for row in ("output near the limit", "output at the limit"):
        assert not due_at(told, row, 30)
        assert not due_at(none, row, 30)


# --- what has to come back ---------------------------------------------------------------------


def test_a_pressure_is_due_after_the_ordered_interval() -> None:
    """From the last pressure or drip test on, from the start where there is none; the next clears it."""
    every = OrderPressureInterval(minutes=15)
    assert due_from(leg((2, every)), "pressure due", 15)
    told = leg((0, every), (4, icp(14)))
    assert due_from(told, "pressure due", 19)
    assert due_at(told, "pressure due", 20) == [
        "no pressure told for 16 min, ordered every 15 min; what is it now?"
    ]
    for clearing in (icp(15), DripsAt(level_cmh2o=9), CatheterOut()):
        assert not due_at(leg((0, every), (4, icp(14)), (18, clearing)), "pressure due", 20)


def test_without_an_order_a_pressure_is_due_after_an_hour_once_one_was_told() -> None:
    """The usual hour is marked as no order; a drain without a transducer is not asked for one."""
    told = leg((4, icp(14)))
    assert due_from(told, "pressure due", 64)
    assert "no order known" in due_at(told, "pressure due", 64)[0]
    assert not due_at(leg((4, OPEN)), "pressure due", 600)


def test_a_zero_is_due_only_by_order() -> None:
    """As long after the last zero, or the start, as was ordered; never without an order."""
    every = OrderZeroInterval(hours=4)
    assert due_from(leg((2, every)), "zero due", 240)
    told = leg((0, every), (30, DrainZeroed()))
    assert due_from(told, "zero due", 270)
    assert due_at(told, "zero due", 275) == [
        "no zero told for 4 hours, ordered every 4 hours; was it zeroed again?"
    ]
    assert not due_at(leg((30, DrainZeroed())), "zero due", 2000)


CEFAZOLIN = DrugGiven(drug="cefazolin", dose=2, unit="g")
EVERY_EIGHT = OrderDoseInterval(drug="cefazolin", hours=8)


def test_a_dose_is_due_as_long_after_the_last_as_was_ordered() -> None:
    """Another dose of this drug clears it, one of another drug does not; without an order never."""
    told = leg((0, EVERY_EIGHT), (10, CEFAZOLIN))
    assert due_from(told, "dose due", 490)
    assert due_at(told, "dose due", 490) == [
        "cefazolin 8 hours ago, ordered every 8 hours; was it given again?"
    ]
    again = leg((0, EVERY_EIGHT), (10, CEFAZOLIN), (485, CEFAZOLIN))
    assert not due_at(again, "dose due", 500)
    other = CEFAZOLIN.model_copy(update={"drug": "vancomycin"})
    assert due_at(leg((0, EVERY_EIGHT), (10, CEFAZOLIN), (485, other)), "dose due", 500)
    assert not due_at(leg((10, CEFAZOLIN)), "dose due", 2000)


def test_the_last_dose_before_the_leg_counts_by_the_clock_of_the_leg() -> None:
    """Told as eight in the morning on a clock two hours ahead, the dose was at six in UTC."""
    zone = LegSettings(utc_offset_min=120)  # the leg begins at 14:00 UTC, 16:00 on its clock
    told = leg((0, EVERY_EIGHT), (1, LastDose(drug="cefazolin", hour=9, minute=30)), settings=zone)
    assert due_from(told, "dose due", 90)  # 9:30 + 8 h = 17:30 = 15:30 UTC
    late = LastDose(drug="cefazolin", hour=23, minute=0, day="yesterday")
    assert due_at(leg((0, EVERY_EIGHT), (1, late), settings=zone), "dose due", 1) == [
        "cefazolin 17 hours ago, ordered every 8 hours; was it given again?"
    ]


def test_a_dose_that_was_never_told_or_runs_is_not_due() -> None:
    """Nobody knows when the next is due of a drug that was not given, and one that runs is given."""
    assert not due_at(leg((0, EVERY_EIGHT)), "dose due", 2000)
    runs = InfusionStarted(drug="cefazolin", rate=1, unit="g/h")
    assert not due_at(leg((0, EVERY_EIGHT), (1, CEFAZOLIN), (2, runs)), "dose due", 600)


def test_two_drugs_given_together_are_two_reminders() -> None:
    """Doses of one moment are told apart by their drug."""
    other = CEFAZOLIN.model_copy(update={"drug": "levetiracetam"})
    order = OrderDoseInterval(drug="levetiracetam", hours=8)
    told = leg((0, EVERY_EIGHT), (0, order), (10, CEFAZOLIN), (10, other))
    assert [text.split()[0] for text in due_at(told, "dose due", 490)] == [
        "cefazolin", "levetiracetam",
    ]  # fmt: skip


# --- unconfirmed -------------------------------------------------------------------------------


def test_unconfirmed_entries_are_due_ten_minutes_after_the_last_of_them() -> None:
    """They are counted; what was confirmed or taken out is not among them."""
    told = leg((1, icp(14)), (2, icp(15)), (3, icp(16)))
    assert not due_at(told, "unconfirmed entries", 60)
    one = changed(told, 1, state=EntryState.UNCONFIRMED)
    assert due_from(one, "unconfirmed entries", 11)
    assert due_at(one, "unconfirmed entries", 11) == ["1 entry unconfirmed; say read unconfirmed"]
    two = changed(one, 2, state=EntryState.UNCONFIRMED)
    assert due_from(two, "unconfirmed entries", 12)
    assert due_at(two, "unconfirmed entries", 12)[0].startswith("2 entries")
    assert not due_at(changed(one, 1, state=EntryState.WITHDRAWN), "unconfirmed entries", 60)


def test_an_order_in_doubt_puts_no_reminder_off() -> None:
    """A longer time that nobody confirmed waits for its confirmation; a shorter one counts at once."""

    def in_doubt(*told: tuple[float, Entry]) -> Leg:
        return changed(leg(*told), 2, state=EntryState.UNCONFIRMED)

    longer = in_doubt(
        (0, OrderClampLimit(minutes=20)), (1, OrderClampLimit(minutes=200)), (5, CLAMPED)
    )
    assert due_from(longer, "drain clamped", 25)
    shorter = in_doubt(
        (0, OrderClampLimit(minutes=20)), (1, OrderClampLimit(minutes=10)), (5, CLAMPED)
    )
    assert due_from(shorter, "drain clamped", 15)
    clamped = in_doubt((5, CLAMPED), (6, OrderDrain(state="clamped")))
    assert due_from(clamped, "drain clamped", 35)
    pressure = in_doubt(
        (0, OrderPressureInterval(minutes=15)), (1, OrderPressureInterval(minutes=60))
    )
    assert due_from(pressure, "pressure due", 15)
    zero = in_doubt((0, OrderZeroInterval(hours=1)), (1, OrderZeroInterval(hours=10)))
    assert due_from(zero, "zero due", 60)
    dose = DrugGiven(drug="cefazolin", dose=2, unit="g")
    twice = (OrderDoseInterval(drug="cefazolin", hours=hours) for hours in (1, 10))
    doses = in_doubt(*((minute, order) for minute, order in enumerate(twice)), (5, dose))
    assert due_from(doses, "dose due", 65)
