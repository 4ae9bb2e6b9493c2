from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
import ucumvert
from hypothesis import given
from hypothesis import strategies as st

from voice.figures.units import (
    PA_PER_CMH2O,
    PA_PER_MMHG,
    convert,
    level_error_mmhg,
    mean_arterial_mmhg,
)

if TYPE_CHECKING:
    from voice.entries.kinds.drain import PressureUnit

UCUM: dict[PressureUnit, str] = {"mmHg": "mm[Hg]", "cmH2O": "cm[H2O]"}


def test_pascals_are_those_of_ucum() -> None:
    """Both units are as large as UCUM says; ucumvert reads its codes."""
    registry = ucumvert.PintUcumRegistry()
    # pint's mercury is the conventional one, which differs in the sixth digit.
    assert registry.from_ucum("mm[Hg]").to("Pa").magnitude == pytest.approx(PA_PER_MMHG, rel=1e-5)
    assert registry.from_ucum("cm[H2O]").to("Pa").magnitude == pytest.approx(PA_PER_CMH2O, rel=1e-9)


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected"),
    [
        (15, "cmH2O", "mmHg", 11.0334),
        (20, "mmHg", "cmH2O", 27.190),
        (22, "mmHg", "cmH2O", 29.909),
        (1, "cmH2O", "mmHg", 0.7356),
    ],
)
def test_conversions_by_hand(
    value: float, unit: PressureUnit, to: PressureUnit, expected: float
) -> None:
    """Values worked out by hand from UCUM's pascals."""
    assert convert(value, unit, to) == pytest.approx(expected, abs=5e-4)


@given(st.floats(-100, 300))
def test_there_and_back(value: float) -> None:
    """A pressure brought to the other unit and back is the same."""
    there = convert(value, "mmHg", "cmH2O")
    assert convert(there, "cmH2O", "mmHg") == pytest.approx(value)
    assert convert(value, "mmHg", "mmHg") == value


def test_a_transducer_too_low_reads_high() -> None:
    """1 cm too low adds 0.7356 mmHg; 10 cm too high takes 7.356 mmHg off."""
    assert level_error_mmhg(1) == pytest.approx(0.7356, abs=5e-5)
    assert level_error_mmhg(-10) == pytest.approx(-7.356, abs=5e-4)


@pytest.mark.parametrize(
    ("systolic", "diastolic", "expected"), [(120, 80, 93.33), (110, 80, 90), (83, 50, 61)]
)
def test_mean_arterial_by_handbook(systolic: int, diastolic: int, expected: float) -> None:
    """The textbook's 120/80 gives 93.33; whole thirds, and 83/50 of a common example, agree."""
    assert mean_arterial_mmhg(systolic, diastolic) == pytest.approx(expected, abs=5e-3)
