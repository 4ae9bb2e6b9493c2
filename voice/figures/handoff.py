"""What a handoff of a patient with a ventricular drain has to tell, and what of it is not told yet.

Common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from voice.entries.kinds.drain import (
    ChamberReading,
    CsfClarity,
    CsfColour,
    DrainClamped,
    Drained,
    DrainLevel,
    DrainLevelled,
    DrainOpened,
    DrainZeroed,
    Pressure,
)
from voice.entries.kinds.drain_care import CatheterPlaced
from voice.entries.kinds.neuro import ComaParts, ComaScore, Pupil, Pupils
from voice.entries.kinds.vitals import BloodPressure, HeartRate, MeanPressure, Saturation

if TYPE_CHECKING:
    from collections.abc import Iterable

    from voice.entries.leg import LegEntry


class Need(NamedTuple):
    """Something that the handoff has to tell."""

    name: str
    """As it is spoken."""
    told_by: tuple[type, ...]
    """Kinds of entry, any of which tells it."""


NEEDS = (
    Need("drain open or clamped", (DrainOpened, DrainClamped)),
    Need("drain level", (DrainLevel,)),
    Need("leveled", (DrainLevelled,)),
    Need("zeroed", (DrainZeroed,)),
    Need("pressure", (Pressure,)),
    Need("output", (Drained, ChamberReading)),
    Need("color", (CsfColour,)),
    Need("clarity", (CsfClarity,)),
    Need("when the catheter was placed", (CatheterPlaced,)),
    Need("pupils", (Pupils, Pupil)),
    Need("coma score", (ComaScore, ComaParts)),
    Need("arterial pressure", (MeanPressure, BloodPressure)),
    Need("heart rate", (HeartRate,)),
    Need("oxygen saturation", (Saturation,)),
)
"""In the order of a handoff; order and antibiotic are states with consequences, and told there."""


def missing(entries: Iterable[LegEntry]) -> tuple[str, ...]:
    """What has not been told, in the order of a handoff."""
    told = [e.entry for e in entries if e.counts]
    return tuple(
        need.name for need in NEEDS if not any(isinstance(entry, need.told_by) for entry in told)
    )
