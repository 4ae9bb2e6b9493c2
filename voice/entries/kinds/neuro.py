"""Neuro checks."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from voice.entries.frozen import Frozen

Side = Literal["left", "right"]

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


class LimbMovement(Frozen):
    """How arm or leg moves, on one side or on both.

    Source of the strength: Medical Research Council, Memorandum No. 45: 0 no contraction, 3 against
    gravity, 5 normal. The movements are those of the coma scale's motor part and plain words for
    strength. Raises ValueError where neither is told.
    """

    kind: Literal["limb_movement"] = "limb_movement"
    side: Side | Literal["both"]
    limb: Literal["arm", "leg", "arm and leg"]
    movement: (
        Literal[
            "normal",
            "moving",
            "weak",
            "obeying",
            "localising",
            "withdrawing",
            "flexing",
            "extending",
            "no movement",
        ]
        | None
    ) = None
    strength: int | None = Field(default=None, ge=0, le=5)

    @model_validator(mode="after")
    def _tells_something(self) -> Self:
        if self.movement is None and self.strength is None:
            raise ValueError("a limb is told by its movement or by its strength")
        return self


NeuroEntry = Pupils | Pupil | ComaScore | ComaParts | LimbMovement
"""Any neuro check."""
