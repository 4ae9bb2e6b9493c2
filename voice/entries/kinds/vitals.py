"""Vital signs."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from voice.entries.frozen import Frozen

ArterialReference = Literal["tragus", "midbrow", "heart"]


class HeartRate(Frozen):
    """Heart rate."""

    kind: Literal["heart_rate"] = "heart_rate"
    rate_per_min: int = Field(ge=20, le=250)


class BloodPressure(Frozen):
    """Arterial blood pressure, systolic over diastolic."""

    kind: Literal["blood_pressure"] = "blood_pressure"
    systolic_mmhg: int = Field(ge=40, le=280)
    diastolic_mmhg: int = Field(ge=20, le=180)

    @model_validator(mode="after")
    def _systolic_is_higher(self) -> BloodPressure:
        if self.systolic_mmhg <= self.diastolic_mmhg:
            raise ValueError("the systolic pressure must be higher than the diastolic")
        return self


class SystolicPressure(Frozen):
    """Systolic arterial pressure alone, as where only a pulse can be felt under the cuff."""

    kind: Literal["systolic_pressure"] = "systolic_pressure"
    value_mmhg: int = Field(ge=40, le=280)


class MeanPressure(Frozen):
    """Mean arterial pressure, as shown by the monitor."""

    kind: Literal["mean_pressure"] = "mean_pressure"
    value_mmhg: int = Field(ge=20, le=200)


class ArterialZeroed(Frozen):
    """The arterial transducer was zeroed, or set to a level.

    At the tragus for a perfusion pressure; at the heart (the phlebostatic axis) for all else (common
    practice; on the former see `voice.figures.levels`).
    """

    kind: Literal["arterial_zeroed"] = "arterial_zeroed"
    reference: ArterialReference | None = None
    """At which level; ``None`` where it was not said."""


class Saturation(Frozen):
    """Oxygen saturation by pulse oximeter."""

    kind: Literal["saturation"] = "saturation"
    percent: int = Field(ge=40, le=100)


class Respirations(Frozen):
    """Breaths per minute."""

    kind: Literal["respirations"] = "respirations"
    rate_per_min: int = Field(ge=4, le=60)


class EndTidalCo2(Frozen):
    """Carbon dioxide at the end of a breath."""

    kind: Literal["end_tidal_co2"] = "end_tidal_co2"
    value_mmhg: int = Field(ge=5, le=100)


class EndTidalCo2Kpa(Frozen):
    """Carbon dioxide at the end of a breath, told in kilopascals."""

    kind: Literal["end_tidal_co2_kpa"] = "end_tidal_co2_kpa"
    value_kpa: float = Field(ge=0.7, le=13.5)


class Temperature(Frozen):
    """Body temperature."""

    kind: Literal["temperature"] = "temperature"
    value_celsius: float = Field(ge=28, le=43)


class TemperatureFahrenheit(Frozen):
    """Body temperature, told in degrees Fahrenheit; no value is one in Celsius too."""

    kind: Literal["temperature_fahrenheit"] = "temperature_fahrenheit"
    value_fahrenheit: float = Field(ge=83, le=109)


VitalEntry = (
    HeartRate
    | BloodPressure
    | SystolicPressure
    | MeanPressure
    | ArterialZeroed
    | Saturation
    | Respirations
    | EndTidalCo2
    | EndTidalCo2Kpa
    | Temperature
    | TemperatureFahrenheit
)
"""Any vital sign."""
