"""Units of pressure and temperature, and the mean of a blood pressure."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from voice.entries.kinds.drain import PressureUnit

PA_PER_MMHG = 133.322
"""Pascal in one mm[Hg]. Source: UCUM, m[Hg] = 133.3220 kPa."""

PA_PER_CMH2O = 98.0665
"""Pascal in one cm[H2O]. Source: UCUM, m[H2O] = 9.80665 kPa."""

_PA: dict[PressureUnit, float] = {"mmHg": PA_PER_MMHG, "cmH2O": PA_PER_CMH2O}


def convert(value: float, unit: PressureUnit, to: PressureUnit) -> float:
    """A pressure in another unit; 15 cmH2O is 11.0334 mmHg."""
    return value if unit == to else value * _PA[unit] / _PA[to]


def level_error_mmhg(too_low_cm: float) -> float:
    """By how much a transducer reads too high that stands ``too_low_cm`` under its reference.

    Below zero where it stands too high. Source: hydrostatics, for water; 1 cm is 0.7356 mmHg.
    """
    return convert(too_low_cm, "cmH2O", "mmHg")


def celsius(fahrenheit: float) -> float:
    """A temperature told in Fahrenheit: 98.6 is 37. Source: UCUM, [degF]."""
    return (fahrenheit - 32) * 5 / 9


def mean_arterial_mmhg(systolic_mmhg: float, diastolic_mmhg: float) -> float:
    """Mean arterial pressure out of systolic and diastolic: diastolic plus a third of the pulse.

    Source: Betts and others, Anatomy and Physiology (OpenStax), chapter 20.2, whose example is
    120/80, 93.33 mmHg. An estimate for a resting rate: a monitor's own mean is preferred.
    """
    return diastolic_mmhg + (systolic_mmhg - diastolic_mmhg) / 3
