"""How each kind of entry is written down; one module a subject.

A wording is, by kind: what the entry is about, a bar, and its value. What stands in brackets falls
away where a field in it was not said. ``worked_out`` of a subject adds what a wording needs beyond
the entry's own fields.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from voice.report.wording import (
    checks,
    drain,
    drain_care,
    drugs,
    fluids,
    laboratory,
    leg,
    neuro,
    order,
    patient,
    ventilator,
    vitals,
)
from voice.report.wording.numbers import number

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

__all__ = ["KINDS", "entry_text", "label", "number", "value"]

_WORDING = (
    drain.WORDING
    | drain_care.WORDING
    | order.WORDING
    | vitals.WORDING
    | neuro.WORDING
    | patient.WORDING
    | ventilator.WORDING
    | fluids.WORDING
    | drugs.WORDING
    | laboratory.WORDING
    | leg.WORDING
    | checks.WORDING
)
_WORKING_OUT = (drain, drain_care, order, vitals, neuro, drugs, patient, fluids, laboratory)

KINDS = frozenset(_WORDING)
"""Every kind that has a wording."""

_OPTIONAL = re.compile(r"\[([^]]*\{(\w+)\}[^]]*)\]")


def label(entry: Entry) -> str:
    """What the entry is about: "ICP"."""
    return _written(entry)[0]


def value(entry: Entry) -> str:
    """Its value with the unit: "14 mmHg"; empty where the fact alone is told."""
    return _written(entry)[1]


def entry_text(entry: Entry) -> str:
    """The entry as it is written down: "ICP 14 mmHg"."""
    return " ".join(_written(entry)).strip()


def _written(entry: Entry) -> tuple[str, str]:
    fields = {name: _field(told) for name, told in entry.model_dump().items()}
    for subject in _WORKING_OUT:
        fields |= subject.worked_out(entry)

    def optional(match: re.Match[str]) -> str:
        return match[1] if fields[match[2]] else ""

    template = _OPTIONAL.sub(optional, _WORDING[entry.kind])
    about, _, value = template.format(**fields).partition("|")
    symbol = about[1:2].isupper()  # pH, pCO2, aPTT
    return about if symbol else about[0].upper() + about[1:], value.strip()


def _field(told: object) -> str:
    if told is None:
        return ""
    return number(told) if isinstance(told, int | float) else str(told)
