from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.figures.conftest import at, entries
from voice.entries.kinds.drain import DrainLevelled, DripsAt, Flushed, NoDrip
from voice.entries.kinds.drain_care import Occlusion
from voice.entries.leg import EntryState
from voice.figures.drip_test import DripTest, drip_tests

if TYPE_CHECKING:
    from voice.entries.kinds import Entry


def drips(level_cmh2o: float) -> DripsAt:
    """It drips at this level."""
    return DripsAt(level_cmh2o=level_cmh2o)


def stops(level_cmh2o: float) -> NoDrip:
    """It does not drip at this level."""
    return NoDrip(level_cmh2o=level_cmh2o)


def made_by(*told: tuple[float, Entry]) -> DripTest:
    """The one test that these steps make."""
    (test,) = drip_tests(entries(*told))
    return test


def test_the_pressure_is_between_the_last_drip_and_the_first_without() -> None:
    """Raised from 5 by 2 cm, dripping at 9 and not at 11: 9 to 11 cmH2O, 6.62 to 8.09 mmHg."""
    test = made_by((0, drips(5)), (1, drips(7)), (2, drips(9)), (3, stops(11)))
    assert test.between("cmH2O") == (9, 11)
    assert test.between("mmHg") == pytest.approx((6.620, 8.0912), abs=0.0005)
    assert (test.at, test.number, test.contradicts_itself) == (at(3), 4, False)


def test_the_chamber_may_go_up_and_down() -> None:
    """Whichever way it was moved, the highest drip and the lowest level without one bound it."""
    test = made_by((0, stops(20)), (1, stops(16)), (2, drips(12)), (3, stops(14)), (4, drips(13)))
    assert test.between("cmH2O") == (13, 14)


def test_dripping_everywhere_gives_only_a_lower_bound() -> None:
    """Where it dripped at every level, the pressure is that of the highest or more."""
    assert made_by((0, drips(10)), (1, drips(12))).between("cmH2O") == (12, None)


def test_never_dripping_tells_nothing() -> None:
    """A drain that drips nowhere may be blocked: no pressure is estimated."""
    test = made_by((0, stops(5)), (1, stops(0)))
    assert test.between("cmH2O") is None
    assert (test.dripped_cmh2o, test.stopped_cmh2o) == (None, 0)
    assert not test.contradicts_itself


@pytest.mark.parametrize("level_cmh2o", [10, 11])
def test_a_test_that_contradicts_itself_gives_no_pressure(level_cmh2o: float) -> None:
    """Dripping at or above a level at which it did not drip is told, not averaged."""
    test = made_by((0, stops(10)), (1, drips(level_cmh2o)))
    assert test.contradicts_itself
    assert test.between("cmH2O") is None


def test_steps_far_apart_are_two_tests() -> None:
    """Ten minutes between steps still make one test, more make two."""
    assert len(drip_tests(entries((0, drips(9)), (10, stops(10))))) == 1
    first, second = drip_tests(entries((0, drips(9)), (10.1, stops(10))))
    assert (first.at, second.at) == (at(0), at(10.1))


@pytest.mark.parametrize(
    "between",
    [Flushed(volume_ml=5), Occlusion(state="suspected"), DrainLevelled()],
    ids=lambda entry: entry.kind,
)
def test_what_changes_the_way_to_the_pressure_starts_another_test(between: Entry) -> None:
    """Steps before a flush, a suspected occlusion or a levelling do not bound those after it."""
    before, after = drip_tests(entries((0, drips(9)), (1, between), (2, stops(0))))
    assert (before.between("cmH2O"), after.between("cmH2O")) == ((9, None), None)


def test_one_step_in_doubt_makes_the_estimate_doubtful() -> None:
    """An estimate is as sure as the least sure of its steps; what was withdrawn is no step."""
    sure, doubtful = entries((0, drips(9)), (1, stops(10)))
    doubtful = doubtful.model_copy(update={"state": EntryState.UNCONFIRMED})
    assert not drip_tests((sure, doubtful))[0].confirmed
    gone = doubtful.model_copy(update={"state": EntryState.WITHDRAWN})
    assert drip_tests((sure, gone))[0].between("cmH2O") == (9, None)


@given(st.integers(0, 30), st.integers(1, 2), st.floats(0, 30))
def test_an_honest_test_finds_the_pressure(start: int, step: int, pressure_cmh2o: float) -> None:
    """Raised until it stops, a free drain bounds its pressure within one step."""
    told: list[tuple[float, Entry]] = []
    level = min(start, int(pressure_cmh2o))
    while level <= pressure_cmh2o:
        told.append((len(told), drips(level)))
        level += step
    told.append((len(told), stops(level)))
    low, high = made_by(*told).between("cmH2O") or (None, None)
    assert low is not None
    assert high is not None
    assert low <= pressure_cmh2o < high == low + step
