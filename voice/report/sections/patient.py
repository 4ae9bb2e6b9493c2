"""The patient: neuro checks, vital signs, ventilator, position and what happened."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.neuro import ComaParts, ComaScore, LimbMovement, Pupil, Pupils
from voice.entries.kinds.patient import (
    HeadPosition,
    PatientEvent,
    Position,
    Sedation,
    SedationScore,
)
from voice.entries.kinds.ventilator import (
    InspiredOxygen,
    MinuteVolume,
    PeakPressure,
    Peep,
    PlateauPressure,
    PressureSupport,
    TidalVolume,
    VentilatorMode,
    VentilatorRate,
)
from voice.entries.kinds.vitals import (
    BloodPressure,
    EndTidalCo2,
    EndTidalCo2Kpa,
    HeartRate,
    MeanPressure,
    Respirations,
    Saturation,
    SystolicPressure,
    Temperature,
    TemperatureFahrenheit,
)
from voice.figures.episodes import Episode, episodes
from voice.report.telling import doubt

if TYPE_CHECKING:
    from voice.report.telling import Telling

NEURO = (SedationScore, Sedation, ComaScore, ComaParts, Pupils, Pupil, LimbMovement)
VITALS = (
    HeartRate,
    BloodPressure,
    SystolicPressure,
    MeanPressure,
    Saturation,
    Respirations,
    EndTidalCo2,
    EndTidalCo2Kpa,
    Temperature,
    TemperatureFahrenheit,
)
VENTILATOR = (
    VentilatorMode,
    VentilatorRate,
    TidalVolume,
    MinuteVolume,
    Peep,
    PressureSupport,
    PeakPressure,
    PlateauPressure,
    InspiredOxygen,
)
PASSING = {"vomiting", "coughing", "shivering", "suctioned"}
"""Events that do not last."""


def neuro(told: Telling) -> list[str]:
    """A line a neuro check, and how awake the patient was."""
    return told.in_order(*NEURO)


def vitals(told: Telling) -> list[str]:
    """A line for each vital sign."""
    return told.series(*VITALS)


def ventilator(told: Telling) -> list[str]:
    """A line for each setting and figure of the ventilator."""
    return told.series(*VENTILATOR)


def patient(told: Telling) -> list[str]:
    """How the patient lay, what lasted, and what else happened."""
    passing = (
        e
        for e in told.counting(PatientEvent)
        if isinstance(e.entry, PatientEvent) and e.entry.event in PASSING
    )
    return [
        *told.series(Position, HeadPosition),
        *(_episode(told, one) for one in episodes(told.leg.entries)),
        *(told.line(e) for e in passing),
    ]


def _episode(told: Telling, one: Episode) -> str:
    """A line that says how long it lasted, or which of its ends was not told."""
    what = one.what.capitalize()
    if one.end_at is None:
        assert one.start_at is not None, "an episode has a start or an end"
        return f"{what} from {told.time(one.start_at)}, its end not told{doubt(one)}."
    end = told.time(one.end_at)
    if one.start_at is None:
        return f"{what} to {end}, its start not told{doubt(one)}."
    minutes = (one.end_at - one.start_at).total_seconds() / 60
    return f"{what} {told.time(one.start_at)} to {end}, {minutes:.0f} min{doubt(one)}."
