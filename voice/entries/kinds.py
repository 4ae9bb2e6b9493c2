"""Every kind of entry a leg can hold: its fields, their units and ranges.

The ranges are those of what can be said and written down, not of what is normal: an entry outside
them was misheard. They are common practice, no source, unless a field says otherwise.

The phrases by which an entry is said stand in ``grammar/``, under the entry's ``kind``.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from voice.entries.frozen import Frozen

PressureUnit = Literal["mmHg", "cmH2O"]
Reference = Literal["tragus", "midbrow"]
Side = Literal["left", "right"]
MoveReason = Literal["transfer", "loading", "unloading", "suctioning", "turning", "reading", "scan"]


# --- pressure and drain ------------------------------------------------------------------------


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


class HeadOfBed(Frozen):
    """Angle of the head of the bed or stretcher."""

    kind: Literal["head_of_bed"] = "head_of_bed"
    angle_deg: int = Field(ge=0, le=90)


# --- vital signs -------------------------------------------------------------------------------


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


class MeanPressure(Frozen):
    """Mean arterial pressure, as shown by the monitor."""

    kind: Literal["mean_pressure"] = "mean_pressure"
    value_mmhg: int = Field(ge=20, le=200)


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


class Temperature(Frozen):
    """Body temperature."""

    kind: Literal["temperature"] = "temperature"
    value_celsius: float = Field(ge=28, le=43)


# --- neuro checks ------------------------------------------------------------------------------

PupilReaction = Literal["reactive", "brisk", "sluggish", "fixed"]


class Pupils(Frozen):
    """Both pupils, said together."""

    kind: Literal["pupils"] = "pupils"
    equal: bool | None = None
    size_mm: int | None = Field(default=None, ge=1, le=9)
    reaction: PupilReaction | None = None


class Pupil(Frozen):
    """One pupil."""

    kind: Literal["pupil"] = "pupil"
    side: Side
    size_mm: int | None = Field(default=None, ge=1, le=9)
    reaction: PupilReaction | None = None


class ComaScore(Frozen):
    """Glasgow Coma Scale, as a total.

    Source: Teasdale and Jennett, Lancet 1974 (from memory): eyes 1-4, verbal 1-5, motor 1-6.
    """

    kind: Literal["coma_score"] = "coma_score"
    total: int = Field(ge=3, le=15)


class ComaParts(Frozen):
    """Glasgow Coma Scale by its three parts."""

    kind: Literal["coma_parts"] = "coma_parts"
    eyes: int = Field(ge=1, le=4)
    verbal: Annotated[int, Field(ge=1, le=5)] | Literal["tube"]
    """``"tube"`` where a tube keeps the patient from speaking."""
    motor: int = Field(ge=1, le=6)


# --- drugs and laboratory ----------------------------------------------------------------------


class DrugGiven(Frozen):
    """A dose that was given."""

    kind: Literal["drug_given"] = "drug_given"
    drug: str
    """Generic name, as in the grammar's list of drugs."""
    dose: float = Field(gt=0, le=2000)
    unit: Literal["mg", "mcg", "g", "mL", "mmol", "units"]


class Laboratory(Frozen):
    """A laboratory value."""

    kind: Literal["laboratory"] = "laboratory"
    analyte: Literal["sodium", "osmolality"]
    value: float = Field(ge=0, le=500)
    unit: Literal["mmol/L", "mOsm/kg"]


# --- the leg and its notes ---------------------------------------------------------------------


class LegMark(Frozen):
    """Something that happened to the transport as a whole."""

    kind: Literal["leg_mark"] = "leg_mark"
    mark: Literal[
        "wheels up", "wheels down", "loaded", "unloaded", "departed", "arrived", "handed over"
    ]


class SpokenNote(Frozen):
    """Free words; only their sound is kept."""

    kind: Literal["spoken_note"] = "spoken_note"


Entry = Annotated[
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
    | HeadOfBed
    | HeartRate
    | BloodPressure
    | MeanPressure
    | Saturation
    | Respirations
    | EndTidalCo2
    | Temperature
    | Pupils
    | Pupil
    | ComaScore
    | ComaParts
    | DrugGiven
    | Laboratory
    | LegMark
    | SpokenNote,
    Field(discriminator="kind"),
]
"""Any kind of entry; the field ``kind`` tells which."""
