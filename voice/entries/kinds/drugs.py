"""Drugs: doses, infusions, the last dose before the leg, and the weight that rates go by."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from voice.entries.frozen import Frozen

DoseUnit = Literal["mcg", "mg", "g", "mL", "units", "mmol", "mEq"]
RateUnit = Literal[
    "mcg/kg/min", "mcg/kg/h", "mcg/min", "mcg/h", "mg/kg/h", "mg/min", "mg/h", "g/h",
    "mL/h", "units/min", "units/h", "mmol/h",
]  # fmt: skip
WeightUnit = Literal["kg", "lb"]

KG_PER_LB = 0.45359237
"""Exactly. Source: UCUM, ``[lb_av]``."""


class DrugGiven(Frozen):
    """A dose that was given."""

    kind: Literal["drug_given"] = "drug_given"
    drug: str
    """Generic name, as in the grammar's list of drugs."""
    dose: float = Field(gt=0, le=10_000)
    unit: DoseUnit


class InfusionStarted(Frozen):
    """An infusion was started, or was found running, at this rate."""

    kind: Literal["infusion_started"] = "infusion_started"
    drug: str
    """Generic name, as in the grammar's list of drugs."""
    rate: float = Field(gt=0, le=2000)
    unit: RateUnit


class InfusionChanged(Frozen):
    """A running infusion was set to this rate."""

    kind: Literal["infusion_changed"] = "infusion_changed"
    drug: str
    """Generic name, as in the grammar's list of drugs."""
    rate: float = Field(gt=0, le=2000)
    unit: RateUnit


class InfusionStopped(Frozen):
    """An infusion was stopped."""

    kind: Literal["infusion_stopped"] = "infusion_stopped"
    drug: str
    """Generic name, as in the grammar's list of drugs."""


GIVEN = (DrugGiven, InfusionStarted, InfusionChanged, InfusionStopped)
"""What tells that a drug was given on the leg: doses, and every turn of an infusion."""


class LastDose(Frozen):
    """When a drug was last given by those who had the patient before, by the leg's clock."""

    kind: Literal["last_dose"] = "last_dose"
    drug: str
    """Generic name, as in the grammar's list of drugs."""
    hour: int = Field(ge=0, le=23)
    minute: int = Field(ge=0, le=59)
    day: Literal["yesterday"] | None = None
    """``None``: the latest such time of day before it was said."""


class Weight(Frozen):
    """The patient's weight, as it was said."""

    kind: Literal["weight"] = "weight"
    value: float = Field(ge=1, le=700)
    unit: WeightUnit

    @property
    def value_kg(self) -> float:
        """In kilograms."""
        return self.value if self.unit == "kg" else self.value * KG_PER_LB


DrugEntry = DrugGiven | InfusionStarted | InfusionChanged | InfusionStopped | LastDose | Weight
"""What can be said of drugs."""
