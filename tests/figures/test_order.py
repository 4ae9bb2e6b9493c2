from __future__ import annotations

from tests.figures.conftest import at, entries
from voice.entries.kinds.order import (
    OrderClampLimit,
    OrderDoseInterval,
    OrderDrain,
    OrderFlushLimit,
    OrderHourlyLimit,
    OrderPerfusionTarget,
    OrderPressureInterval,
    OrderPressureLimit,
    OrderZeroInterval,
)
from voice.entries.leg import EntryState
from voice.figures.facts import Fact
from voice.figures.order import Order, order

OPEN_AT_15 = OrderDrain(state="open", level_cmh2o=15, reference="tragus")
NOT_ABOVE_22 = OrderPressureLimit(side="above", value=22, unit="mmHg")


def test_what_was_never_ordered_is_none() -> None:
    """Without an order no aspect of it is known, and none is assumed."""
    assert order(()) == Order(None, None, None, None, None, None, None, None)
    assert order(()).told() == ()


def test_each_aspect_is_the_last_that_was_told_of_it() -> None:
    """A later order changes only what it tells, and says since when that holds."""
    clamped = OrderDrain(state="clamped")
    found = order(entries((0, OPEN_AT_15), (1, NOT_ABOVE_22), (30, clamped)))
    assert found.state == Fact(at(30), clamped, 3, True)
    assert found.level == Fact(at(0), OPEN_AT_15, 1, True)
    assert found.not_above == Fact(at(1), NOT_ABOVE_22, 2, True)
    assert found.not_below is None


def test_a_level_alone_leaves_the_state() -> None:
    """An order that tells only the level opens nothing and clamps nothing."""
    higher = OrderDrain(level_cmh2o=20)
    found = order(entries((0, OPEN_AT_15), (10, higher)))
    assert found.state is not None
    assert found.level is not None
    assert (found.state.told, found.level.told) == (OPEN_AT_15, higher)


def test_limits_are_kept_apart() -> None:
    """Each limit is found under its own name, the two sides of the pressure too."""
    below = OrderPressureLimit(side="below", value=5, unit="cmH2O")
    hourly, flush = OrderHourlyLimit(volume_ml=20), OrderFlushLimit(count=2)
    clamp, cpp = OrderClampLimit(minutes=30), OrderPerfusionTarget(value_mmhg=60)
    told = (NOT_ABOVE_22, below, hourly, flush, clamp, cpp)
    found = order(entries(*((0, one) for one in told)))
    assert found.not_above is not None
    assert found.not_below is not None
    assert (found.not_above.told, found.not_below.told) == (NOT_ABOVE_22, below)
    assert {fact.told for fact in found.told()} == set(told)
    assert found.clamp_limit is not None
    assert found.clamp_limit.told.minutes == 30


def test_intervals_are_kept_apart_and_those_of_doses_by_drug() -> None:
    """A later interval for one drug leaves that of another, and those of pressure and zero."""
    pressure, zero = OrderPressureInterval(minutes=15), OrderZeroInterval(hours=4)
    first = OrderDoseInterval(drug="cefazolin", hours=8)
    other = OrderDoseInterval(drug="levetiracetam", hours=12)
    later = OrderDoseInterval(drug="cefazolin", hours=6)
    found = order(entries((0, pressure), (0, zero), (1, first), (2, other), (3, later)))
    assert [fact.told for fact in found.dose_intervals] == [later, other]
    assert {fact.told for fact in found.told()} == {pressure, zero, later, other}


def test_an_order_is_told_once_though_it_has_two_aspects() -> None:
    """State and level that were ordered in one breath are one entry."""
    assert [fact.told for fact in order(entries((0, OPEN_AT_15))).told()] == [OPEN_AT_15]


def test_an_order_in_doubt_says_so_and_one_withdrawn_is_gone() -> None:
    """An unconfirmed order holds and is marked; a withdrawn one does not hold."""
    doubtful = entries((0, NOT_ABOVE_22), state=EntryState.UNCONFIRMED)
    found = order(doubtful).not_above
    assert found is not None
    assert not found.confirmed
    assert order(entries((0, NOT_ABOVE_22), state=EntryState.WITHDRAWN)).not_above is None


def test_it_goes_by_when_it_held_not_by_when_it_was_said() -> None:
    """An earlier order that is told late does not replace a later one."""
    first, second = OrderHourlyLimit(volume_ml=10), OrderHourlyLimit(volume_ml=20)
    found = order(entries((30, second), (5, first))).hourly_limit
    assert found is not None
    assert found.told == second
