"""The ventilator: what it is set to and what it shows; its mode in words that no maker owns."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from voice.entries.frozen import Frozen


class VentilatorMode(Frozen):
    """How breaths are given."""

    kind: Literal["ventilator_mode"] = "ventilator_mode"
    mode: Literal[
        "assist control",
        "volume control",
        "pressure control",
        "pressure support",
        "intermittent mandatory",
        "by hand",
    ]


class VentilatorRate(Frozen):
    """Breaths a minute as set; what the patient breathes is `Respirations`."""

    kind: Literal["ventilator_rate"] = "ventilator_rate"
    rate_per_min: int = Field(ge=4, le=60)


class TidalVolume(Frozen):
    """Volume of one breath."""

    kind: Literal["tidal_volume"] = "tidal_volume"
    volume_ml: int = Field(ge=20, le=1200)


class MinuteVolume(Frozen):
    """Volume of all breaths of a minute."""

    kind: Literal["minute_volume"] = "minute_volume"
    volume_l_per_min: float = Field(ge=0.5, le=30)


class Peep(Frozen):
    """Positive end-expiratory pressure."""

    kind: Literal["peep"] = "peep"
    value_cmh2o: int = Field(ge=0, le=30)


class PressureSupport(Frozen):
    """Pressure support above PEEP, as set."""

    kind: Literal["pressure_support"] = "pressure_support"
    value_cmh2o: int = Field(ge=0, le=40)


class PeakPressure(Frozen):
    """Peak airway pressure."""

    kind: Literal["peak_pressure"] = "peak_pressure"
    value_cmh2o: int = Field(ge=5, le=90)


class PlateauPressure(Frozen):
    """Plateau airway pressure."""

    kind: Literal["plateau_pressure"] = "plateau_pressure"
    value_cmh2o: int = Field(ge=5, le=90)


class InspiredOxygen(Frozen):
    """Oxygen in the gas that is given: 21 % is air."""

    kind: Literal["inspired_oxygen"] = "inspired_oxygen"
    percent: int = Field(ge=21, le=100)


VentilatorEntry = (
    VentilatorMode
    | VentilatorRate
    | TidalVolume
    | MinuteVolume
    | Peep
    | PressureSupport
    | PeakPressure
    | PlateauPressure
    | InspiredOxygen
)
"""What can be said of the ventilator."""
