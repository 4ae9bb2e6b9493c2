"""Laboratory values, each in the units in which laboratories report it.

Units are written as UCUM has them, but for platelets (10*9/L there). The ranges are those of what
can be said; which unit an unsaid one can only be is common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, NamedTuple, Self

from pydantic import model_validator

from voice.entries.frozen import Frozen

if TYPE_CHECKING:
    from collections.abc import Mapping

Analyte = Literal[
    "sodium",
    "potassium",
    "osmolality",
    "glucose",
    "haemoglobin",
    "platelets",
    "INR",
    "aPTT",
    "fibrinogen",
    "pH",
    "pCO2",
    "pO2",
    "bicarbonate",
    "base excess",
    "lactate",
]
LaboratoryUnit = Literal["mmol/L", "mg/dL", "mOsm/kg", "g/dL", "g/L", "10^9/L", "s", "mmHg", "kPa"]


class Measure(NamedTuple):
    """One unit of an analyte, with the range of its values."""

    unit: LaboratoryUnit | None
    """``None`` where the value is a ratio or a logarithm."""
    lowest: float
    highest: float
    unsaid: tuple[float, float] | None = None
    """From where to where a value without a unit is taken to be in this one; ``None``: never."""


MEASURES: Mapping[str, tuple[Measure, ...]] = {
    "sodium": (Measure("mmol/L", 100, 200),),
    "potassium": (Measure("mmol/L", 1, 9.9),),
    "osmolality": (Measure("mOsm/kg", 200, 450),),
    # 20 to 33.9 may be a coma of too much sugar or of too little: 1 mmol/L is 18 mg/dL.
    "glucose": (Measure("mmol/L", 0.5, 60, (0.5, 19.9)), Measure("mg/dL", 10, 999, (34, 999))),
    "haemoglobin": (Measure("g/dL", 1, 25, (1, 19.9)), Measure("g/L", 20, 250, (26, 250))),
    "platelets": (Measure("10^9/L", 2, 1500),),
    "INR": (Measure(None, 0.5, 15),),
    "aPTT": (Measure("s", 15, 250),),
    "fibrinogen": (Measure("g/L", 0.1, 15, (0.1, 15)), Measure("mg/dL", 20, 1500, (20, 1500))),
    "pH": (Measure(None, 6.5, 8),),
    # 1 kPa is 7.5 mmHg.
    "pCO2": (Measure("mmHg", 5, 200, (21, 200)), Measure("kPa", 0.7, 27, (0.7, 9.9))),
    "pO2": (Measure("mmHg", 10, 700, (81, 700)), Measure("kPa", 1, 93, (1, 19.9))),
    "bicarbonate": (Measure("mmol/L", 1, 60),),
    "base excess": (Measure("mmol/L", -30, 30),),
    # 1 mmol/L is 9 mg/dL, so that most values may be either.
    "lactate": (Measure("mmol/L", 0.1, 30, (0.1, 9.9)), Measure("mg/dL", 1, 300)),
}
"""In which units each analyte is told."""


class Laboratory(Frozen):
    """A laboratory value.

    A unit that was not said is the only one that the value can sensibly be in. Raises ValueError
    where it can be in two, and for a unit or a value that the analyte does not have.
    """

    kind: Literal["laboratory"] = "laboratory"
    analyte: Analyte
    value: float
    unit: LaboratoryUnit | None = None
    """``None`` for pH and INR."""

    @model_validator(mode="before")
    @classmethod
    def _in_the_unit_meant(cls, told: Any) -> Any:
        if not isinstance(told, dict) or told.get("unit") is not None:
            return told
        measures = MEASURES.get(str(told.get("analyte")), ())
        if len(measures) > 1:
            value = told.get("value")
            measures = tuple(m for m in measures if m.unsaid and _between(value, *m.unsaid))
        if not measures:
            raise ValueError(f"{told.get('analyte')} {told.get('value')} needs its unit")
        return {**told, "unit": measures[0].unit}

    @model_validator(mode="after")
    def _is_measured_so(self) -> Self:
        for unit, lowest, highest, _ in MEASURES[self.analyte]:
            if unit == self.unit and lowest <= self.value <= highest:
                return self
        raise ValueError(f"{self.analyte} is never {self.value} {self.unit or ''}".rstrip())


def _between(value: object, lowest: float, highest: float) -> bool:
    return isinstance(value, int | float) and lowest <= value <= highest


LaboratoryEntry = Laboratory
"""Any laboratory value."""
