"""Drugs that were given."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from voice.entries.frozen import Frozen


class DrugGiven(Frozen):
    """A dose that was given."""

    kind: Literal["drug_given"] = "drug_given"
    drug: str
    """Generic name, as in the grammar's list of drugs."""
    dose: float = Field(gt=0, le=2000)
    unit: Literal["mg", "mcg", "g", "mL", "mmol", "units"]


DrugEntry = DrugGiven
"""What can be said of drugs."""
