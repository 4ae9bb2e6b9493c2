"""At which level pressures are zeroed, and what it does to the perfusion pressure."""

from __future__ import annotations

from math import radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.figures.conftest import at, entries
from voice.entries.kinds.drain import DrainLevel, DrainLevelled, Pressure
from voice.entries.kinds.patient import HeadOfBed
from voice.entries.kinds.vitals import ArterialZeroed, MeanPressure
from voice.entries.leg import EntryState
from voice.figures.levels import Levels, LevelsTold, too_high_mmhg
from voice.figures.perfusion import perfusion
from voice.figures.units import PA_PER_MMHG

AT_HEART = ArterialZeroed(reference="heart")
AT_TRAGUS = ArterialZeroed(reference="tragus")


def test_what_a_height_weighs_worked_out_by_hand() -> None:
    """At 30 degrees 10 cm along the body are 5 cm up, and 5 cmH2O are 3.678 mmHg; flat it is nothing."""
    assert too_high_mmhg(10, 30) == pytest.approx(5 * 98.0665 / 133.322)
    assert too_high_mmhg(10, 30) == pytest.approx(3.678, abs=5e-4)
    assert too_high_mmhg(25, 0) == 0


@given(st.floats(0, 60), st.floats(0, 90))
def test_a_height_weighs_what_water_of_that_height_does(cm: float, angle_deg: float) -> None:
    """Density times gravity times height, as textbooks have it, in mmHg of 133.322 Pa."""
    up_m = (cm / 100) * sin(radians(angle_deg))
    pascals = 1000 * 9.80665 * up_m
    assert too_high_mmhg(cm, angle_deg) == pytest.approx(pascals / PA_PER_MMHG, abs=1e-9)


def test_nothing_told_is_nothing_known() -> None:
    """No level is taken for usual, and levels of which one is not known neither agree nor differ."""
    assert LevelsTold(()).at(at(5)) == Levels(None, None, None)
    assert Levels(None, "tragus").agree is None
    assert Levels("heart", None).agree is None
    assert (Levels("heart", "tragus").agree, Levels("tragus", "tragus").agree) == (False, True)


def test_each_level_is_the_last_that_was_told() -> None:
    """A level holds from when it was told on; an arterial line zeroed anywhere is at no known level."""
    told = LevelsTold(
        entries(
            (1, AT_HEART),
            (2, DrainLevelled(reference="tragus")),
            (3, HeadOfBed(angle_deg=30)),
            (4, DrainLevelled()),
            (5, DrainLevel(level_cmh2o=10, reference="midbrow")),
            (6, DrainLevel(level_cmh2o=12)),
            (7, ArterialZeroed()),
        )
    )
    assert told.at(at(0)) == Levels()
    assert told.at(at(4)) == Levels("heart", "tragus", 30)
    assert told.at(at(6)) == Levels("heart", "midbrow", 30)
    assert told.at(at(7)) == Levels(None, "midbrow", 30)


def test_what_was_taken_back_is_no_level() -> None:
    """A level that was corrected or withdrawn does not count."""
    told = LevelsTold(entries((1, AT_HEART), state=EntryState.WITHDRAWN))
    assert told.at(at(2)).arterial is None


def test_a_perfusion_pressure_knows_the_levels_of_its_two_pressures() -> None:
    """Each has the arterial level of when its mean was measured, and the drain's of its pressure."""
    found = perfusion(
        entries(
            (0, DrainLevelled(reference="tragus")),
            (1, AT_HEART),
            (2, MeanPressure(value_mmhg=80)),
            (3, AT_TRAGUS),
            (4, Pressure(value=14, unit="mmHg")),
            (20, Pressure(value=14, unit="mmHg")),
            (21, MeanPressure(value_mmhg=80)),
        )
    )
    assert [one.levels.arterial for one in found] == ["heart", "tragus"]
    assert [one.levels.icp for one in found] == ["tragus", "tragus"]
