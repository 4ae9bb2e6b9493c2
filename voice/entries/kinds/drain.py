"""Pressure and the drain: level, output, look, what was done with it."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from voice.entries.frozen import Frozen
from voice.entries.kinds.leg import Role

PressureUnit = Literal["mmHg", "cmH2O"]
Reference = Literal["tragus", "midbrow"]
MoveReason = Literal["transfer", "loading", "unloading", "suctioning", "turning", "reading", "scan"]


class Pressure(Frozen):
    """Intracranial pressure as read from the monitor or the column."""

    kind: Literal["pressure"] = "pressure"
    value: float = Field(ge=-10, le=100)
    unit: PressureUnit


class OpeningPressure(Frozen):
    """The pressure that was found when the catheter was placed."""

    kind: Literal["opening_pressure"] = "opening_pressure"
    value: float = Field(ge=-10, le=100)
    unit: PressureUnit


class Waveform(Frozen):
    """Whether the pressure's waveform is to be seen on the monitor."""

    kind: Literal["waveform"] = "waveform"
    state: Literal["seen", "damped", "lost"]


class DrainLevel(Frozen):
    """Height of the drip point over the reference, on the drain's cmH2O scale."""

    kind: Literal["drain_level"] = "drain_level"
    level_cmh2o: float = Field(ge=-20, le=40)
    reference: Reference | None = None
    """Where zero was held; ``None`` where it was not said."""


class DrainLevelMmhg(Frozen):
    """A level that was told on the mmHg scale: kept as it was said, never taken for a level.

    Levels are set on the cmH2O scale (common practice, no source), so it may have been misread.
    """

    kind: Literal["drain_level_mmhg"] = "drain_level_mmhg"
    level_mmhg: float = Field(ge=-20, le=40)


class DripsAt(Frozen):
    """The drain drips with the chamber at this level: the pressure is at or above it."""

    kind: Literal["drips_at"] = "drips_at"
    level_cmh2o: float = Field(ge=-20, le=40)


class NoDrip(Frozen):
    """The drain does not drip with the chamber at this level: the pressure is below it."""

    kind: Literal["no_drip"] = "no_drip"
    level_cmh2o: float = Field(ge=-20, le=40)


class ChamberReading(Frozen):
    """Fluid standing in the drip chamber, as read from its scale."""

    kind: Literal["chamber_reading"] = "chamber_reading"
    volume_ml: float = Field(ge=0, le=150)


class Drained(Frozen):
    """Fluid drained since the last entry of output, be it a volume, a reading or an emptying."""

    kind: Literal["drained"] = "drained"
    volume_ml: float = Field(ge=0, le=150)


class ChamberEmptied(Frozen):
    """The chamber was emptied into the bag."""

    kind: Literal["chamber_emptied"] = "chamber_emptied"
    volume_ml: float | None = Field(default=None, ge=0, le=150)
    """What stood in it, read just before; ``None`` where that was not said."""


class StopcockClosed(Frozen):
    """The stopcock between chamber and bag was closed: what drains is measured again."""

    kind: Literal["stopcock_closed"] = "stopcock_closed"


class BagState(Frozen):
    """How full the drainage bag is."""

    kind: Literal["bag_state"] = "bag_state"
    fill: Literal["empty", "half full", "nearly full", "full"]


class BagChanged(Frozen):
    """The drainage bag was changed."""

    kind: Literal["bag_changed"] = "bag_changed"


class Flushed(Frozen):
    """Fluid put into the line; it is not output."""

    kind: Literal["flushed"] = "flushed"
    volume_ml: float = Field(ge=0, le=20)
    by: Role | None = None
    """Who did it; ``None`` where it was not said."""


class CsfColour(Frozen):
    """Colour of the cerebrospinal fluid."""

    kind: Literal["csf_colour"] = "csf_colour"
    colour: Literal["colourless", "straw", "yellow", "pink", "red", "bloody", "brown"]


class CsfClarity(Frozen):
    """Clarity of the cerebrospinal fluid."""

    kind: Literal["csf_clarity"] = "csf_clarity"
    clarity: Literal["clear", "hazy", "cloudy"]


class DrainClamped(Frozen):
    """The drain was closed."""

    kind: Literal["drain_clamped"] = "drain_clamped"
    reason: MoveReason | None = None


class DrainOpened(Frozen):
    """The drain was opened."""

    kind: Literal["drain_opened"] = "drain_opened"


class DrainLevelled(Frozen):
    """The transducer and the drip scale were levelled to the reference."""

    kind: Literal["drain_levelled"] = "drain_levelled"
    reference: Reference | None = None
    """To what; ``None`` where it was not said."""


class DrainZeroed(Frozen):
    """The transducer was zeroed to air."""

    kind: Literal["drain_zeroed"] = "drain_zeroed"


class ZeroFailed(Frozen):
    """Zeroing was tried and did not hold."""

    kind: Literal["zero_failed"] = "zero_failed"


DrainEntry = (
    Pressure
    | OpeningPressure
    | Waveform
    | DrainLevel
    | DrainLevelMmhg
    | DripsAt
    | NoDrip
    | ChamberReading
    | Drained
    | ChamberEmptied
    | StopcockClosed
    | BagState
    | BagChanged
    | Flushed
    | CsfColour
    | CsfClarity
    | DrainClamped
    | DrainOpened
    | DrainLevelled
    | DrainZeroed
    | ZeroFailed
)
"""What can be said of pressure and drain."""
