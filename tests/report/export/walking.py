"""Checks a FHIR document against HL7's structure definitions, value sets and rules.

It knows nothing of legbook: what it reads is the document and ``hl7/`` (see `official`). HL7's rules
are evaluated by fhirpathpy; those that need a server or the whole specification are left out.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

import fhirpathpy
from fhirpathpy.engine.nodes import ResourceNode
from fhirpathpy.models import models

from tests.report.export.official import structures, value_sets

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

_LEFT_OUT = ("htmlChecks", "%rootResource", ".trace(")
_EMPTY = "ele-1"
"""Is checked without FHIRPath, for every element has it."""


@cache
def _rule(expression: str) -> Callable[[Any, dict[str, Any]], list[Any]]:
    known = expression.replace("hasValue()", "exists()")  # the same, for what is a single value
    return fhirpathpy.compile(known, models["r4"])


class Walker:
    """Walks one document, and notes what is wrong and which rules were looked at."""

    def __init__(self, bundle: dict[str, Any]) -> None:
        self._structures = structures()
        self._codes = value_sets()
        self._types = {e["fullUrl"]: e["resource"]["resourceType"] for e in bundle["entry"]}
        self.faults: list[str] = []
        self.rules: set[str] = set()
        self._resource = bundle
        self._walk("Bundle", "Bundle", bundle, "Bundle")
        for number, entry in enumerate(bundle["entry"]):
            self._resource = resource = entry["resource"]
            kind = resource["resourceType"]
            self._walk(kind, kind, resource, f"entry {number} {kind}")

    def _walk(self, structure: str, path: str, told: dict[str, Any], where: str) -> None:
        """``told`` stands at ``path`` of ``structure``; ``where`` is how a fault names it."""
        elements = self._structures[structure]
        own = next(e for e in elements if e["path"] == path)
        self._check_rules(own, told, where)
        depth = path.count(".") + 1
        for element in elements:
            parent, _, name = element["path"].rpartition(".")
            if parent == path and element["path"].count(".") == depth:
                self._check(
                    structure, element, list(_values(name, element, told)), f"{where}.{name}"
                )

    def _check(
        self, structure: str, element: dict[str, Any], values: list[tuple[str, Any]], where: str
    ) -> None:
        if len(values) < element["min"]:
            self.faults.append(f"{where}: {len(values)} where at least {element['min']} must be")
        if element["max"] != "*" and len(values) > int(element["max"]):
            self.faults.append(f"{where}: {len(values)} where at most {element['max']} may be")
        for of, value in values:
            if value in ({}, [], "", None):
                self.faults.append(f"{where}: empty")
                continue
            self._check_code(element, value, where)
            if of == "Reference":
                self._check_reference(element, value, where)
            self._go_into(structure, element, of, value, where)

    def _go_into(
        self, structure: str, element: dict[str, Any], of: str, value: Any, where: str
    ) -> None:
        if not isinstance(value, dict) or of == "Resource":
            return
        if "contentReference" in element:
            self._walk(structure, element["contentReference"].lstrip("#"), value, where)
        elif of in {"BackboneElement", "Element"}:
            self._walk(structure, element["path"], value, where)
        elif of in self._structures:
            self._check_rules(element, value, where)
            self._walk(of, of, value, where)
        else:
            self.faults.append(f"{where}: the type {of} is not among the extracts")

    def _check_code(self, element: dict[str, Any], value: Any, where: str) -> None:
        if "required" not in element:
            return
        codes = self._codes[element["required"]]
        given = [value] if isinstance(value, str) else [c.get("code") for c in _codings(value)]
        if not any(code in codes for code in given):
            self.faults.append(f"{where}: {given} is not in {element['required']}")

    def _check_reference(self, element: dict[str, Any], value: Any, where: str) -> None:
        if (url := value.get("reference")) is None:
            return
        if url not in self._types:
            self.faults.append(f"{where}: {url} leads nowhere")
            return
        targets = [target for of in element["types"] for target in of["targets"]]
        if self._types[url] not in targets and "Resource" not in targets:
            self.faults.append(f"{where}: {self._types[url]} where {targets} may be")

    def _check_rules(self, element: dict[str, Any], told: Any, where: str) -> None:
        if isinstance(told, dict):  # an element that is only an extension exists without a value
            told = {name: value for name, value in told.items() if not name.startswith("_")}
        for rule in element["rules"]:
            if rule["key"] == _EMPTY or any(one in rule["expression"] for one in _LEFT_OUT):
                continue
            self.rules.add(rule["key"])
            node = ResourceNode.create_node(told, element["path"])  # type: ignore[no-untyped-call]
            if _rule(rule["expression"])(node, {"resource": self._resource}) != [True]:
                self.faults.append(f"{where}: breaks {rule['key']}, {rule['expression']}")


def _values(name: str, element: dict[str, Any], told: dict[str, Any]) -> Iterator[tuple[str, Any]]:
    """The type and the value of each that is told; one with several types says which in its name."""
    types = [of["code"] for of in element["types"]]
    if name.endswith("[x]"):
        for of in types:
            key = name.removesuffix("[x]") + of[0].upper() + of[1:]
            if key in told:
                yield of, told[key]
        return
    found = told.get(name, [])
    for value in found if isinstance(found, list) else [found]:
        yield (types[0] if types else ""), value


def _codings(value: dict[str, Any]) -> list[dict[str, Any]]:
    return value.get("coding", [value])  # type: ignore[no-any-return]
