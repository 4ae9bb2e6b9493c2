"""The patient: position, and what happened to him."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from voice.entries.frozen import Frozen


class HeadOfBed(Frozen):
    """Angle of the head of the bed or stretcher."""

    kind: Literal["head_of_bed"] = "head_of_bed"
    angle_deg: int = Field(ge=0, le=90)


PatientEntry = HeadOfBed
"""What can be said of the patient."""
