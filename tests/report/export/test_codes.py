"""The codes of the FHIR export against where they come from."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest
import ucumvert

from voice.entries.kinds.drain import PressureUnit
from voice.entries.kinds.drugs import DoseUnit, RateUnit, WeightUnit
from voice.entries.kinds.laboratory import MEASURES
from voice.report.export.fhir.codes import (
    ANALYTE_CODES,
    FIELD_UNITS,
    KIND_CODES,
    PUPIL_CODES,
    UNITS,
    unit_of,
)
from voice.report.export.table import kinds

DESIGN = Path(__file__).parents[4] / "shared" / "DESIGN.md"
CODES = [*KIND_CODES.values(), *PUPIL_CODES.values(), *ANALYTE_CODES.values()]


@pytest.mark.parametrize("ucum", sorted({*UNITS.values(), *(u for _, u in FIELD_UNITS.values())}))
def test_each_unit_is_one_of_ucum(ucum: str) -> None:
    """A parser of UCUM that had no part in the table reads each of its codes."""
    assert ucumvert.parse_ucum(ucum)


def test_each_unit_that_can_be_said_has_its_code() -> None:
    """No unit of a drug, a pressure, a weight or a laboratory value is left without UCUM."""
    units = {*get_args(DoseUnit), *get_args(RateUnit), *get_args(WeightUnit)}
    units |= set(get_args(PressureUnit))
    units |= {one.unit for measures in MEASURES.values() for one in measures if one.unit}
    assert units == set(UNITS)


@pytest.mark.parametrize("code", sorted({one for c in CODES for one in (c.code, c.wider) if one}))
def test_the_check_digit_of_each_code_is_right(code: str) -> None:
    """Each code of LOINC bears the check digit (modulus 10) that its number has."""
    number, _, check = code.partition("-")
    odd = str(2 * int(number[::-1][::2][::-1]))
    even = number[::-1][1::2][::-1]
    assert (10 - sum(map(int, even + odd)) % 10) % 10 == int(check)


@pytest.mark.skipif(not DESIGN.exists(), reason="the design does not ship with the project")
def test_each_code_of_the_design_is_the_designs() -> None:
    """A code whose source is named as the design stands in the design's list."""
    listed = set(re.findall(r"\b\d{4,5}-\d\b", DESIGN.read_text("utf-8")))
    from_design = {c.code for c in CODES if c.source.startswith("DESIGN.md")}
    assert from_design <= listed
    assert listed - from_design == set(), "listed in the design, and not used"


def test_each_code_is_of_a_kind_and_field_that_exist() -> None:
    """No code stands for a kind or a field that no entry has."""
    fields = {kind.model_fields["kind"].default: set(kind.model_fields) for kind in kinds()} | {
        "perfusion": set()
    }
    for local in KIND_CODES:
        kind, _, field = local.partition(".")
        assert kind in fields, local
        assert not field or field in fields[kind], local


def test_the_longest_ending_tells_the_unit() -> None:
    """A rate a minute is not taken for a volume a minute, nor a size for a pressure."""
    assert unit_of("rate_per_min") == ("/min", "/min")
    assert unit_of("volume_l_per_min") == ("L/min", "L/min")
    assert unit_of("size_mm") == ("mm", "mm")
    assert unit_of("colour") is None
