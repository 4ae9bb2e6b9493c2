from __future__ import annotations

import pytest

from tests.figures.consequences.told import (
    at,
    changed,
    icp,
    leg,
    marked,
    open_now,
    said,
    said_at,
)
from voice.entries.kinds.drain import DrainZeroed, DripsAt, NoDrip, Pressure, ZeroFailed
from voice.entries.kinds.order import OrderPerfusionTarget, OrderPressureLimit
from voice.entries.kinds.vitals import BloodPressure, MeanPressure
from voice.entries.leg import EntryState, LegSettings

FAILED = ZeroFailed()
ZEROED = DrainZeroed()
CMH2O_LEG = LegSettings(pressure_unit="cmH2O")


def not_above(value: float) -> OrderPressureLimit:
    """An ordered limit in mmHg."""
    return OrderPressureLimit(side="above", value=value, unit="mmHg")


# --- zero --------------------------------------------------------------------------------------


def test_pressures_after_a_failed_zero_are_marked_until_one_holds() -> None:
    """Only the pressures between a failed zero and the next that held bear its mark."""
    told = leg(
        (1, icp(12)),
        (5, FAILED),
        (6, icp(14)),
        (9, FAILED),
        (10, icp(15)),
        (20, ZEROED),
        (21, icp(13)),
    )
    mark = "not to be relied on: zero failed 14:05"
    assert marked(told, "zero failed") == {3: mark, 5: mark}
    assert open_now(told, "zero failed", 19.9)
    assert not open_now(told, "zero failed", 20)


def test_a_failed_zero_is_told_once() -> None:
    """It is said with the first failure, not with the second nor with a pressure."""
    told = leg((5, FAILED), (6, icp(14)), (9, FAILED), (10, icp(15)))
    assert said_at(told, "zero failed") == [1]
    again = leg((5, FAILED), (7, ZEROED), (9, FAILED))
    assert said_at(again, "zero failed") == [1, 3]


def test_zero_goes_by_when_it_happened() -> None:
    """A failure that is told late marks the pressures that were read after it."""
    told = leg((1, icp(12)), (6, icp(14)), (5, FAILED), (5.5, ZEROED))
    assert marked(told, "zero failed") == {}
    assert list(marked(leg((1, icp(12)), (6, icp(14)), (5, FAILED)), "zero failed")) == [2]


def test_at_one_moment_what_was_said_later_counts() -> None:
    """A pressure told with the failure before it is not marked, one after it is."""
    assert list(marked(leg((5, icp(12)), (5, FAILED), (5, icp(14))), "zero failed")) == [3]


@pytest.mark.parametrize("state", [EntryState.WITHDRAWN, EntryState.CORRECTED])
def test_a_failure_taken_back_marks_nothing(state: EntryState) -> None:
    """Nothing follows from a failed zero that was withdrawn or corrected."""
    told = changed(leg((5, FAILED), (6, icp(14))), 1, state=state)
    assert marked(told, "zero failed") == {}
    assert open_now(told, "zero failed") == []


def test_an_unconfirmed_failure_marks_too() -> None:
    """What was never confirmed aloud is as good a reason for doubt."""
    told = changed(leg((5, FAILED), (6, icp(14))), 1, state=EntryState.UNCONFIRMED)
    assert list(marked(told, "zero failed")) == [2]


def test_a_drip_test_stands_in_for_the_pressure() -> None:
    """After a failed zero, dripping at 9 and not at 10 is offered as an estimate."""
    told = leg((5, FAILED), (6, DripsAt(level_cmh2o=9)), (7, NoDrip(level_cmh2o=10)))
    assert said_at(told, "drip test instead") == [3]
    assert said(told, "drip test instead") == ["by drip test between 9 and 10 cmH2O: an estimate"]
    assert list(marked(told, "drip test instead")) == [2, 3]
    assert open_now(told, "drip test instead")
    zeroed = leg((5, FAILED), (6, DripsAt(level_cmh2o=9)), (7, NoDrip(level_cmh2o=10)), (8, ZEROED))
    assert open_now(zeroed, "drip test instead") == []


def test_a_drip_test_beside_a_good_zero_is_no_stand_in() -> None:
    """Where zeroing holds, or the test gives no interval, nothing is offered."""
    assert not marked(
        leg((6, DripsAt(level_cmh2o=9)), (7, NoDrip(level_cmh2o=10))), "drip test instead"
    )
    assert not marked(leg((5, FAILED), (6, DripsAt(level_cmh2o=9))), "drip test instead")
    contrary = leg((5, FAILED), (6, DripsAt(level_cmh2o=11)), (7, NoDrip(level_cmh2o=10)))
    assert not marked(contrary, "drip test instead")


# --- units and scales --------------------------------------------------------------------------


def test_a_pressure_in_the_other_unit_is_told_in_the_legs() -> None:
    """The first of a row in cmH2O is told in mmHg: 18 cmH2O is 13.2 mmHg."""
    told = leg(
        (1, icp(13)), (2, Pressure(value=18, unit="cmH2O")), (3, Pressure(value=19, unit="cmH2O"))
    )
    assert said_at(told, "pressure in the other unit") == [2]
    assert said(told, "pressure in the other unit", 2) == [
        "said in cmH2O: 13.2 mmHg in the unit of this leg"
    ]


STEADY = ((1, icp(14)), (4, icp(15)), (7, icp(15)))


@pytest.mark.parametrize(
    ("value", "asked"),
    [
        (14, False),  # no change at all
        (18, False),  # as cmH2O 13.2 mmHg: 1.8 away
        (19, False),  # 13.98: 1.02 away
        (19.1, True),  # 14.05: within 1
        (20, True),
        (21.7, True),  # 15.96
        (21.8, False),  # 16.03: beyond 1
        (26, False),
    ],
)
def test_a_pressure_that_fits_only_the_other_scale_is_asked_about(
    value: float, *, asked: bool
) -> None:
    """After a steady 15 mmHg, what would be 14 to 16 if it was read in cmH2O is asked about."""
    told = changed(leg(*STEADY, (9, icp(value))), 4, state=EntryState.UNCONFIRMED)
    assert bool(said(told, "pressure on the other scale")) is asked
    assert bool(marked(told, "pressure on the other scale")) is asked


def test_the_other_scale_in_a_leg_in_cmh2o() -> None:
    """After a steady 20 cmH2O a 15 is asked about: as mmHg it would be 20.4 cmH2O."""
    unit = "cmH2O"
    before = ((m, Pressure(value=20, unit=unit)) for m in (1, 4, 7))
    told = leg(*before, (9, Pressure(value=15, unit=unit)), settings=CMH2O_LEG)
    told = changed(told, 4, state=EntryState.UNCONFIRMED)
    assert said(told, "pressure on the other scale") == [
        "before it were 20 cmH2O; read in mmHg it would be 20.4 cmH2O; if so, correct it with its unit"
    ]


def test_confirming_upholds_the_scale() -> None:
    """A pressure that was asked about and confirmed is not marked."""
    assert marked(leg(*STEADY, (9, icp(20))), "pressure on the other scale") == {}


@pytest.mark.parametrize(
    "before",
    [
        ((1, icp(15)), (4, icp(15))),
        ((1, icp(12)), (4, icp(15)), (7, icp(15))),
        ((-25, icp(15)), (4, icp(15)), (7, icp(15))),
    ],
    ids=["two only", "not steady", "too old"],
)
def test_without_steady_pressures_before_nothing_is_asked(
    before: tuple[tuple[float, Pressure], ...],
) -> None:
    """Two readings, readings 3 mmHg apart or one from over 30 min ago give nothing to compare with."""
    told = changed(leg(*before, (9, icp(20))), len(before) + 1, state=EntryState.UNCONFIRMED)
    assert marked(told, "pressure on the other scale") == {}


def test_a_unit_that_was_said_is_believed() -> None:
    """A pressure said in the other unit is never taken for one on the wrong scale."""
    told = leg(*STEADY, (9, Pressure(value=27, unit="cmH2O")))
    told = changed(told, 4, state=EntryState.UNCONFIRMED)
    assert marked(told, "pressure on the other scale") == {}


# --- the order ---------------------------------------------------------------------------------


def test_a_limit_is_past_only_beyond_it() -> None:
    """With 22 ordered, 22 is not above it and 22.5 is, once for all readings in a row."""
    told = leg(
        (0, not_above(22)), (1, icp(22)), (2, icp(22.5)), (3, icp(30)), (4, icp(22)), (5, icp(23))
    )  # fmt: skip
    assert said_at(told, "pressure above the order") == [3, 6]
    assert said(told, "pressure above the order", 3) == ["above the ordered limit of 22"]
    assert list(marked(told, "pressure above the order")) == [3, 4, 6]
    assert open_now(told, "pressure above the order", 3.9)
    assert not open_now(told, "pressure above the order", 4)


def test_a_limit_below() -> None:
    """With at least 5 ordered, 5 is not below it and 4 is."""
    order = OrderPressureLimit(side="below", value=5, unit="mmHg")
    told = leg((0, order), (1, icp(5)), (2, icp(4)), (3, icp(30)))
    assert list(marked(told, "pressure below the order")) == [3]
    assert marked(told, "pressure above the order") == {}


def test_a_limit_in_the_other_unit() -> None:
    """30 cmH2O is 22.06 mmHg: 22 mmHg is not above it, 23 is, and the unit is told."""
    order = OrderPressureLimit(side="above", value=30, unit="cmH2O")
    told = leg((0, order), (1, icp(22)), (2, icp(23)))
    assert said(told, "pressure above the order") == ["above the ordered limit of 30 cmH2O"]
    assert said_at(told, "pressure above the order") == [3]


def test_a_new_limit_overrules_the_old() -> None:
    """Each reading goes by the limit that was told last before it."""
    told = leg((0, not_above(20)), (1, icp(22)), (2, not_above(25)), (3, icp(22)))
    assert list(marked(told, "pressure above the order")) == [2]
    assert open_now(told, "pressure above the order") == []


def test_an_order_in_doubt_loosens_none_that_was_confirmed() -> None:
    """Fifty, never confirmed, takes no mark from 30 above a confirmed fifteen; a stricter one counts at once."""
    told = leg((0, not_above(15)), (1, not_above(50)), (5, icp(30)))
    doubtful = changed(told, 2, state=EntryState.UNCONFIRMED)
    assert marked(told, "pressure above the order") == {}
    assert marked(doubtful, "pressure above the order") == {3: "above the ordered 15"}
    assert said(doubtful, "pressure above the order") == ["above the ordered limit of 15"]
    stricter = changed(
        leg((0, not_above(22)), (1, not_above(15)), (5, icp(18))), 2, state=EntryState.UNCONFIRMED
    )
    assert marked(stricter, "pressure above the order") == {3: "above the ordered 15"}
    at_least = [OrderPerfusionTarget(value_mmhg=value) for value in (60, 50)]
    target = leg((0, at_least[0]), (1, at_least[1]), (2, MeanPressure(value_mmhg=75)), (3, icp(20)))
    assert not open_now(target, "perfusion below the order")
    assert open_now(
        changed(target, 2, state=EntryState.UNCONFIRMED), "perfusion below the order"
    ) == ["CPP below the ordered 60 since 14:03"]


def test_a_pressure_past_two_limits_in_turn_is_told_by_each() -> None:
    """30 mmHg above 22, and above the 28 that was ordered then, is told, marked and listed by its own limit."""
    told = leg((0, not_above(22)), (1, icp(30)), (2, not_above(28)), (3, icp(30)), (4, icp(29)))
    assert marked(told, "pressure above the order") == {
        2: "above the ordered 22",
        4: "above the ordered 28",
        5: "above the ordered 28",
    }
    assert said_at(told, "pressure above the order") == [2, 4]
    assert open_now(told, "pressure above the order", 3.5) == [
        "ICP above the ordered 28 since 14:03"
    ]
    same = leg((0, not_above(22)), (1, icp(30)), (2, not_above(22)), (3, icp(30)))
    assert said_at(same, "pressure above the order") == [2]


def test_a_first_limit_counts_for_what_was_read_before_it() -> None:
    """An order that is told after the pressure stood before the leg: the pressure is past it."""
    told = leg((1, icp(26)), (2, not_above(22)))
    assert said(told, "pressure above the order") == ["above the ordered limit of 22"]
    assert said(leg((1, icp(26))), "pressure above the order") == []


def test_a_correction_is_told_by_its_own_value() -> None:
    """A pressure corrected to one past the limit is told, and one corrected to within it is quiet."""
    told = leg((0, not_above(22)), (1, icp(16)), (1, icp(26)))
    told = changed(told, 2, state=EntryState.CORRECTED, replaced_by=3, was_confirmed=True)
    told = changed(told, 3, spoken_at=at(2))
    assert said_at(told, "pressure above the order") == [3]
    back = leg((0, not_above(22)), (1, icp(26)), (1, icp(16)))
    back = changed(back, 2, state=EntryState.CORRECTED, replaced_by=3)
    back = changed(back, 3, spoken_at=at(2))
    assert said_at(back, "pressure above the order") == [2]
    assert marked(back, "pressure above the order") == {}


def test_perfusion_below_the_ordered() -> None:
    """CPP 60 is not below an ordered 60; 59 is: MAP 80, ICP 21; and 59.67, which is not told as 60."""
    order = OrderPerfusionTarget(value_mmhg=60)
    told = leg((0, order), (1, MeanPressure(value_mmhg=80)), (2, icp(20)), (3, icp(21)))
    assert said_at(told, "perfusion below the order") == [4]
    assert said(told, "perfusion below the order") == [
        "perfusion pressure 59, below the ordered 60"
    ]
    near = leg((0, order), (1, BloodPressure(systolic_mmhg=110, diastolic_mmhg=60)), (2, icp(17)))
    assert said(near, "perfusion below the order") == [
        "perfusion pressure 59.7, below the ordered 60"
    ]
    better = leg((0, order), (1, MeanPressure(value_mmhg=80)), (2, icp(21)), (3, icp(20)))
    assert open_now(better, "perfusion below the order") == []
