"""Laboratory values and their units."""

from __future__ import annotations

from itertools import pairwise
from typing import get_args

import pytest
import ucumvert
from pydantic import ValidationError

from voice.entries.kinds.laboratory import MEASURES, Analyte, Laboratory, Measure

UCUM = {
    "mmol/L": "mmol/L", "mg/dL": "mg/dL", "mOsm/kg": "mosm/kg", "g/dL": "g/dL", "g/L": "g/L",
    "10^9/L": "10*9/L", "s": "s", "mmHg": "mm[Hg]", "kPa": "kPa",
}  # fmt: skip
"""Each unit as UCUM codes it."""

MOLAR_MASS = {"glucose": 180.16, "lactate": 90.08}
"""In g/mol, for what is told in moles and by weight. Source: the sum formulas C6H12O6 and C3H6O3."""

TWO_UNITS = [a for a, measures in MEASURES.items() if len(measures) > 1]


def test_every_analyte_is_measured() -> None:
    """Each analyte has a unit, and no other name has."""
    assert list(MEASURES) == list(get_args(Analyte))
    assert all(MEASURES.values())


def test_units_are_those_of_ucum() -> None:
    """Every unit can be written as a code of UCUM."""
    units = {m.unit for measures in MEASURES.values() for m in measures} - {None}
    assert units == set(UCUM)
    registry = ucumvert.PintUcumRegistry()
    for code in UCUM.values():
        assert registry.from_ucum(code) is not None


@pytest.mark.parametrize("analyte", TWO_UNITS)
def test_a_value_without_its_unit_is_in_no_other(analyte: str) -> None:
    """The ranges that need no unit lie inside their own measure and apart from each other."""
    spans = [(m, m.unsaid) for m in MEASURES[analyte] if m.unsaid is not None]
    for measure, (lowest, highest) in spans:
        assert measure.lowest <= lowest < highest <= measure.highest
    ordered = sorted(span for _, span in spans)
    assert all(one[1] < other[0] for one, other in pairwise(ordered))


@pytest.mark.parametrize("analyte", TWO_UNITS)
def test_both_units_reach_as_far(analyte: str) -> None:
    """The two ranges of an analyte are the same amounts, to within a factor of two at either end."""
    first, second = (_in_ucum(analyte, m) for m in MEASURES[analyte])
    for one, other in zip(first, second, strict=True):
        assert 0.5 <= one / other <= 2


def _in_ucum(analyte: str, measure: Measure) -> tuple[float, float]:
    """Both ends of a range in one unit for the analyte: by weight, or in pascals."""
    registry = ucumvert.PintUcumRegistry()
    assert measure.unit is not None
    ends = (measure.lowest, measure.highest) * registry.from_ucum(UCUM[measure.unit])
    if measure.unit == "mmol/L":
        ends = ends * MOLAR_MASS[analyte] * registry.from_ucum("g/mol")
    low, high = ends.to_base_units().magnitude
    return low, high


@pytest.mark.parametrize(
    ("analyte", "value", "unit"),
    [
        ("glucose", 6.2, "mmol/L"),
        ("glucose", 19, "mmol/L"),
        ("glucose", 110, "mg/dL"),
        ("haemoglobin", 9.2, "g/dL"),
        ("haemoglobin", 92, "g/L"),
        ("fibrinogen", 2, "g/L"),
        ("pCO2", 38, "mmHg"),
        ("pCO2", 5.1, "kPa"),
        ("pO2", 95, "mmHg"),
        ("pO2", 12, "kPa"),
        ("lactate", 2.1, "mmol/L"),
        ("sodium", 142, "mmol/L"),
        ("INR", 1.2, None),
    ],
)
def test_an_unsaid_unit_is_the_only_one_it_can_be(
    analyte: Analyte, value: float, unit: str | None
) -> None:
    """A value that makes sense in one unit alone is kept in that one."""
    assert Laboratory(analyte=analyte, value=value).unit == unit


@pytest.mark.parametrize(
    ("analyte", "value"),
    [("glucose", 20), ("glucose", 33), ("haemoglobin", 24), ("pCO2", 15), ("pO2", 60),
     ("lactate", 12), ("fibrinogen", 18)],
)  # fmt: skip
def test_what_may_be_in_either_unit_needs_it(analyte: Analyte, value: float) -> None:
    """A value that could be in two units is refused without one."""
    with pytest.raises(ValidationError, match="needs its unit"):
        Laboratory(analyte=analyte, value=value)


def test_a_said_unit_decides() -> None:
    """The unit that was said is kept, also where another would be likelier."""
    assert Laboratory(analyte="glucose", value=25, unit="mg/dL").unit == "mg/dL"
    assert Laboratory(analyte="glucose", value=25, unit="mmol/L").unit == "mmol/L"


@pytest.mark.parametrize(
    ("analyte", "value", "unit"),
    [("sodium", 14, "mmol/L"), ("sodium", 142, "mg/dL"), ("pH", 9, None), ("pH", 7.3, "kPa")],
)
def test_a_value_that_is_never_found_is_refused(
    analyte: Analyte, value: float, unit: str | None
) -> None:
    """A value outside its range, or in a unit that it never has, was misheard."""
    with pytest.raises(ValidationError, match="is never"):
        Laboratory.model_validate({"analyte": analyte, "value": value, "unit": unit})


def test_it_survives_json() -> None:
    """A value read back from the journal is the value that was written."""
    for told in (
        Laboratory(analyte="pH", value=7.32),
        Laboratory(analyte="glucose", value=25, unit="mg/dL"),
    ):
        assert Laboratory.model_validate_json(told.model_dump_json()) == told
        assert Laboratory.model_validate(told) == told
