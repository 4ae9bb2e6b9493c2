"""Fluids in and urine out. What drained of the cerebrospinal fluid stands in `drain`."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from voice.entries.frozen import Frozen

BloodProduct = Literal["red cells", "whole blood", "plasma", "platelets", "cryoprecipitate"]


class FluidIn(Frozen):
    """A volume that was given since the last entry of the same fluid."""

    kind: Literal["fluid_in"] = "fluid_in"
    fluid: Literal["normal saline", "balanced solution", "albumin"] | BloodProduct
    volume_ml: int = Field(ge=1, le=3000)


class BloodGiven(Frozen):
    """Blood told by the unit, that is, the bag. How much was in each is not known."""

    kind: Literal["blood_given"] = "blood_given"
    product: BloodProduct
    count: int = Field(ge=1, le=20)


class UrineOut(Frozen):
    """Urine since the last entry of it."""

    kind: Literal["urine_out"] = "urine_out"
    volume_ml: int = Field(ge=0, le=3000)


FluidEntry = FluidIn | BloodGiven | UrineOut
"""What can be said of fluids in and out, but for the drain."""
