"""Pressure and the drain: level, output, look, what was done with it."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from voice.entries.frozen import Frozen

PressureUnit = Literal["mmHg", "cmH2O"]
Reference = Literal["tragus", "midbrow"]
MoveReason = Literal["transfer", "loading", "unloading", "suctioning", "turning", "reading", "scan"]


class Pressure(Frozen):
    """Intracranial pressure as read from the monitor or the column."""

    kind: Literal["pressure"] = "pressure"
    value: float = Field(ge=-10, le=100)
    unit: PressureUnit


class DrainLevel(Frozen):
    """Height of the drip point over the reference, on the drain's cmH2O scale."""

    kind: Literal["drain_level"] = "drain_level"
    level_cmh2o: float = Field(ge=-20, le=40)
    reference: Reference | None = None
    """Where zero was held; ``None`` where it was not said."""


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


class BagChanged(Frozen):
    """The drainage bag was changed."""

    kind: Literal["bag_changed"] = "bag_changed"


class Flushed(Frozen):
    """Fluid put into the line; it is not output."""

    kind: Literal["flushed"] = "flushed"
    volume_ml: float = Field(ge=0, le=20)


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


class DrainZeroed(Frozen):
    """The transducer was zeroed to air."""

    kind: Literal["drain_zeroed"] = "drain_zeroed"


class ZeroFailed(Frozen):
    """Zeroing was tried and did not hold."""

    kind: Literal["zero_failed"] = "zero_failed"


class NoDrip(Frozen):
    """The drain does not drip with the chamber at this level."""

    kind: Literal["no_drip"] = "no_drip"
    level_cmh2o: float = Field(ge=-20, le=40)


class LineDisconnected(Frozen):
    """The line came apart: an emergency."""

    kind: Literal["line_disconnected"] = "line_disconnected"


DrainEntry = (
    Pressure
    | DrainLevel
    | ChamberReading
    | Drained
    | ChamberEmptied
    | BagChanged
    | Flushed
    | CsfColour
    | CsfClarity
    | DrainClamped
    | DrainOpened
    | DrainLevelled
    | DrainZeroed
    | ZeroFailed
    | NoDrip
    | LineDisconnected
)
"""What can be said of pressure and drain."""
