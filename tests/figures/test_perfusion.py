from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.figures.conftest import entries
from voice.entries.kinds.drain import Pressure
from voice.entries.kinds.vitals import BloodPressure, MeanPressure
from voice.entries.leg import EntryState
from voice.figures.perfusion import WINDOW_S, perfusion

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

ICP = Pressure(value=14, unit="mmHg")
MAP = MeanPressure(value_mmhg=82)
BP = BloodPressure(systolic_mmhg=120, diastolic_mmhg=80)


def found(*told: tuple[float, Entry]) -> list[tuple[float, bool]]:
    """Each perfusion pressure, and whether its mean was worked out."""
    return [(p.cpp_mmhg, p.mean_arterial.told.worked_out) for p in perfusion(entries(*told))]


def test_it_is_mean_less_intracranial() -> None:
    """82 less 14 is 68 mmHg, and out of 120/80 it is 93.33 less 14."""
    assert found((0, ICP), (1, MAP)) == [(68, False)]
    ((cpp_mmhg, worked_out),) = found((0, ICP), (1, BP))
    assert cpp_mmhg == pytest.approx(79.333, abs=1e-3)
    assert worked_out


def test_the_nearest_is_taken() -> None:
    """Of several means the nearest in time counts; of two as near, the one that was said."""
    assert found((10, ICP), (6, MAP), (11, BP))[0][1] is True
    assert found((10, ICP), (8, MAP), (12, BP))[0][1] is False
    assert found((10, ICP), (8, BP), (12, MAP))[0][1] is False


def test_the_window_has_an_end() -> None:
    """A mean further off than the window gives no perfusion pressure; just at its edge it does."""
    edge_min = WINDOW_S / 60
    assert len(found((0, ICP), (edge_min, MAP))) == 1
    assert found((0, ICP), (edge_min + 0.1, MAP)) == []
    assert found((0, ICP)) == found((0, MAP)) == []


def test_centimetres_of_water_are_brought_to_mercury() -> None:
    """A pressure in cmH2O is brought to mmHg before it is taken off."""
    assert found((0, Pressure(value=15, unit="cmH2O")), (0, MAP))[0][0] == pytest.approx(
        82 - 11.0334, abs=1e-4
    )


def test_each_reading_has_its_own() -> None:
    """Every intracranial pressure near a mean has a perfusion pressure of its own."""
    assert len(found((0, ICP), (2, MAP), (4, ICP))) == 2


def test_it_is_as_sure_as_its_parts() -> None:
    """It counts as confirmed only where both pressures are."""
    told = [*entries((0, ICP)), *entries((1, MAP), state=EntryState.UNCONFIRMED)]
    assert [p.confirmed for p in perfusion(told)] == [False]
    assert [p.confirmed for p in perfusion(entries((0, ICP), (1, MAP)))] == [True]
