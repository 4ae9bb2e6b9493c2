"""Entries that are Observations: whatever was read, seen or told, and is no act."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.laboratory import Laboratory
from voice.entries.kinds.neuro import ComaParts, Pupil, Pupils
from voice.figures import perfusion as figures
from voice.figures.consequences.table import FAILED_ZERO
from voice.figures.order import perfusion_targets_mmhg
from voice.figures.rounding import beside
from voice.report.export.fhir.codes import (
    ANALYTE_CODES,
    KIND_CODES,
    PUPIL_CODES,
    UNITS,
    unit_of,
)
from voice.report.export.fhir.parts import (
    codings,
    concept,
    instant,
    quantity,
    subject,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.entries.kinds import Entry
    from voice.entries.leg import LegEntry
    from voice.report.export.fhir.codes import Code
    from voice.report.export.fhir.parts import Context, Json

_CATEGORIES = "http://terminology.hl7.org/CodeSystem/observation-category"
_ABSENT = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
_CATEGORY = {
    "vitals": "vital-signs",
    "drain": "exam",
    "drain_care": "exam",
    "neuro": "exam",
    "patient": "exam",
    "fluids": "exam",
    "ventilator": "therapy",
    "laboratory": "laboratory",
}
"""By subject; what happened to the transport and what was asked in a check is in none."""
_VITAL = {"pressure", "weight", "perfusion"}
"""Kinds of other subjects that are vital signs."""


def observation(context: Context, e: LegEntry) -> Json:
    """An entry as an Observation; a field that has no place of its own becomes a component."""
    resource = context.frame("Observation", e) | {
        "status": status(context, e),
        **_category(e.entry.kind, subject(e)),
        "code": concept(e, _public(e.entry)),
        **context.about_patient(),
        "effectiveDateTime": instant(e.happened_at),
        "issued": instant(e.spoken_at),
        "performer": [context.recorder(e)],
        **_told(e.entry),
    }
    if notes := context.notes(e):
        resource["note"] = notes
    return resource


def status(context: Context, e: LegEntry) -> str:
    """How far it can be relied on, in FHIR's words."""
    if not e.counts:
        return "entered-in-error"
    if not e.confirmed or context.told.is_marked(e, FAILED_ZERO):
        return "preliminary"
    return "corrected" if e.replaces in context.was_confirmed else "final"


def _category(kind: str, of: str) -> Json:
    if of == "order":
        return {"category": [{"text": "order, as it was told to the nurse"}]}
    code = "vital-signs" if kind in _VITAL else _CATEGORY.get(of)
    return {"category": [{"coding": [{"system": _CATEGORIES, "code": code}]}]} if code else {}


def _public(entry: Entry) -> Code | None:
    if isinstance(entry, Laboratory):
        return ANALYTE_CODES.get((entry.analyte, entry.unit or ""))
    return KIND_CODES.get(entry.kind)


def _told(entry: Entry) -> Json:
    """The value where the entry is one, and components for whatever else it tells."""
    if isinstance(entry, Pupil | Pupils):
        return {"component": list(_pupils(entry))}
    fields = entry.model_dump(mode="json", exclude={"kind"}, exclude_none=True)
    unit = fields.pop("unit", None)
    if isinstance(entry, Laboratory):
        unit = unit or "1"
    values = {name: value(name, told, unit) for name, told in fields.items()}
    if not values:
        return {"valueBoolean": True}
    main = _main(entry, values)
    found: Json = dict(values.pop(main)) if main else {}
    components = [{"code": _part(entry.kind, name), **told} for name, told in values.items()]
    return found | ({"component": components} if components else {})


def _main(entry: Entry, values: dict[str, Json]) -> str | None:
    """The field that is the value: the only quantity, or the only field."""
    quantities = [name for name, told in values.items() if "valueQuantity" in told]
    fitting = quantities or list(values)
    return fitting[0] if len(fitting) == 1 and not isinstance(entry, ComaParts) else None


def value(name: str, told: object, unit: str | None) -> Json:
    """One field as a value of the type that it has."""
    if isinstance(told, bool):
        return {"valueBoolean": told}
    if isinstance(told, int | float):
        if name in {"value", "dose", "rate"} and unit is not None:
            return {"valueQuantity": quantity(told, unit, UNITS.get(unit, unit))}
        if units := unit_of(name):
            return {"valueQuantity": quantity(told, *units)}
        return {"valueQuantity": {"value": told}}
    if (name, told) == ("verbal", "tube"):
        absent = {"coding": [{"system": _ABSENT, "code": "not-performed"}], "text": "tube"}
        return {"dataAbsentReason": absent}
    texts = told if isinstance(told, list) else [told]
    return {"valueCodeableConcept": {"text": "; ".join(map(str, texts))}}


def _part(kind: str, name: str) -> Json:
    local = f"{kind}.{name}"
    return {"coding": codings(local, KIND_CODES.get(local)), "text": name.replace("_", " ")}


def _pupils(entry: Pupil | Pupils) -> Iterator[Json]:
    """What is told of both pupils stands for each of them."""
    sides = (entry.side,) if isinstance(entry, Pupil) else ("right", "left")
    for side in sides:
        for name in ("size_mm", "reaction"):
            told = getattr(entry, name)
            if told is not None:
                code = codings(f"{entry.kind}.{name}", PUPIL_CODES[name, side])
                text = f"{side} pupil, {'size' if name == 'size_mm' else name}"
                yield {"code": {"coding": code, "text": text}, **value(name, told, None)}
    if isinstance(entry, Pupils) and entry.equal is not None:
        yield {"code": _part(entry.kind, "equal"), "valueBoolean": entry.equal}
    if isinstance(entry, Pupil) and entry.size_mm is None and entry.reaction is None:
        yield {"code": _part(entry.kind, "side"), **value("side", entry.side, None)}


def perfusion(context: Context) -> Iterator[Json]:
    """The cerebral perfusion pressures, which are worked out and name what they are worked out from."""
    targets = perfusion_targets_mmhg(context.document.leg.entries)
    for number, one in enumerate(figures.perfusion(context.document.leg.entries), 1):
        sources = (one.icp, one.mean_arterial)
        sure = one.confirmed and not any(context.told.is_marked(s, FAILED_ZERO) for s in sources)
        marks = [{"text": text} for source in sources for text in context.marks(source.number)]
        yield {
            "resourceType": "Observation",
            "id": f"perfusion-{number}",
            "status": "final" if sure else "preliminary",
            **_category("perfusion", "drain"),
            "code": {
                "coding": codings("perfusion", KIND_CODES["perfusion"]),
                "text": "CPP, worked out",
            },
            **context.about_patient(),
            "effectiveDateTime": instant(one.at),
            "valueQuantity": quantity(beside(one.cpp_mmhg, 1, targets), "mmHg", "mm[Hg]"),
            **({"note": marks} if marks else {}),
            "derivedFrom": [context.to(f"entry-{source.number}") for source in sources],
        }
