"""Laboratory values."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from voice.entries.frozen import Frozen


class Laboratory(Frozen):
    """A laboratory value."""

    kind: Literal["laboratory"] = "laboratory"
    analyte: Literal["sodium", "osmolality"]
    value: float = Field(ge=0, le=500)
    unit: Literal["mmol/L", "mOsm/kg"]


LaboratoryEntry = Laboratory
"""Any laboratory value."""
