"""The leg as a FHIR R4 document: a Bundle whose first resource, the Composition, tells its order.

Source: HL7 FHIR, release 4 (4.0.1). The patient has no name, number or birth date: legbook knows
none. Who receives the document has to say whose it is.
"""

from __future__ import annotations

import json
from hashlib import sha256
from typing import TYPE_CHECKING

from voice.entries.kinds.patient import Diagnosis
from voice.report.export.document import to_json
from voice.report.export.fhir.acts import (
    COMMUNICATIONS,
    MEDICATIONS,
    PROCEDURES,
    communication,
    medication,
    procedure,
)
from voice.report.export.fhir.codes import DOCUMENT, KIND, LEG, SEAL
from voice.report.export.fhir.observations import observation, perfusion
from voice.report.export.fhir.parts import NURSE, Context, instant, narrative, subject
from voice.report.export.fhir.provenance import provenances
from voice.report.telling import Telling

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.entries.leg import LegEntry
    from voice.report.export.document import LegDocument
    from voice.report.export.fhir.parts import Json

_TITLES = {
    "drain": "Pressure and drain",
    "drain_care": "Care of the drain",
    "order": "The order, as it was told",
    "vitals": "Vital signs",
    "neuro": "Neuro checks",
    "leg": "The leg",
}
"""Of sections whose title is not the subject's own name."""


def to_fhir(document: LegDocument) -> str:
    """The leg as a document Bundle in JSON."""
    leg, journal = document.leg, document.journal
    if journal:
        identifier = {"system": SEAL, "value": journal.seal}
        base = f"{leg.id} {instant(leg.started_at)}"
    else:  # nothing but what the leg holds may tell it from another
        base = sha256(to_json(document).encode()).hexdigest()
        identifier = {"system": DOCUMENT, "value": base}
    context = Context(document, Telling(leg, document.until), base)

    made = {e.number: _resources(context, e) for e in leg.entries}
    worked_out = list(perfusion(context))
    origins = list(provenances(context))
    resources = [
        _composition(context, made, worked_out),
        _patient(),
        _encounter(context),
        _program(context),
        *(resource for some in made.values() for resource in some),
        *worked_out,
        *origins,
    ]
    bundle = {
        "resourceType": "Bundle",
        "type": "document",
        "identifier": identifier,
        "timestamp": instant(document.as_of),
        "entry": [{"fullUrl": context.url(one["id"]), "resource": one} for one in resources],
    }
    return json.dumps(bundle, indent=1, ensure_ascii=False) + "\n"


def _resources(context: Context, e: LegEntry) -> list[Json]:
    """What an entry becomes; whatever is no act is an Observation, kinds yet to come included."""
    kind = e.entry.kind
    if kind in PROCEDURES:
        return procedure(context, e)
    if kind in MEDICATIONS:
        return [medication(context, e)]
    if kind in COMMUNICATIONS:
        return [communication(context, e)]
    return [observation(context, e)]


def _composition(context: Context, made: dict[int, list[Json]], worked_out: list[Json]) -> Json:
    document = context.document
    leg = document.leg
    composition = {
        "resourceType": "Composition",
        "id": "composition",
        "text": narrative(document.caution),
        "status": "final" if leg.signed else "preliminary",
        "type": {
            "coding": [{"system": KIND, "code": "leg"}],
            "text": "Record of a transport leg with an external ventricular drain",
        },
        **context.about_patient(),
        "date": instant(document.as_of),
        "author": [context.to("program"), {"display": NURSE}],
        "title": f"Transport leg {leg.id} with an external ventricular drain",
        "section": list(_sections(context, made, worked_out)),
    }
    if leg.signed:
        by = leg.signed.by
        composition["attester"] = [
            {
                "mode": "professional",
                "time": instant(leg.signed.at),
                "party": {"display": f"{by}"},
            }
        ]
    return composition


def _sections(
    context: Context, made: dict[int, list[Json]], worked_out: list[Json]
) -> Iterator[Json]:
    """The caution first, then a section a subject, with what no longer counts among the rest."""
    leg, told = context.document.leg, context.told
    yield {"title": "Caution", "text": narrative(context.document.caution)}
    for about, entries in _by_subject(leg.entries).items():
        yield {
            "title": _TITLES.get(about, about.capitalize()),
            "text": narrative(*map(told.row, entries)),
            "entry": [context.to(r["id"]) for e in entries for r in made[e.number]],
        }
    if worked_out:
        yield {
            "title": "Worked out",
            "text": narrative(
                "Cerebral perfusion pressure: the mean arterial pressure nearest in time, said or "
                "worked out from systolic and diastolic, less the intracranial pressure."
            ),
            "entry": [context.to(one["id"]) for one in worked_out],
        }
    remarks = [f"{told.time(n.at)} {n.text}" for n in leg.notices]
    remarks += [f"{told.time(c.at)} {c.by}: {c.text}" for c in leg.comments]
    if remarks:
        yield {"title": "Trouble of the program, and remarks", "text": narrative(*remarks)}


def _by_subject(entries: tuple[LegEntry, ...]) -> dict[str, list[LegEntry]]:
    """In the order in which each came first."""
    found: dict[str, list[LegEntry]] = {}
    for e in entries:
        found.setdefault(subject(e), []).append(e)
    return found


def _patient() -> Json:
    return {
        "resourceType": "Patient",
        "id": "patient",
        "text": narrative("The patient of this leg; who that is, legbook does not know."),
    }


def _encounter(context: Context) -> Json:
    """The leg itself; where the desk was at work on one without an end, it does not go on any more."""
    document, leg = context.document, context.document.leg
    period = {"start": instant(leg.started_at)}
    status, end = "in-progress", f" The last that is known of it is of {instant(document.until)}."
    if leg.ended_at:
        period["end"] = instant(leg.ended_at)
        status = "finished"
        end = f" Its end was told at the desk by {leg.desk_end.by}." if leg.desk_end else ""
    elif not context.goes_on:
        status = "unknown"
    told = (e.entry for e in leg.entries if e.confirmed)
    reasons = [{"text": entry.diagnosis} for entry in told if isinstance(entry, Diagnosis)]
    return {
        "resourceType": "Encounter",
        "id": "encounter",
        "text": narrative(f"Transport leg {leg.id}.{end}"),
        "identifier": [{"system": LEG, "value": leg.id}],
        "status": status,
        "class": {
            "system": "http://terminology.hl7.org/CodeSystem/v3-ActCode",
            "code": "FLD",
            "display": "field",
        },
        "type": [{"text": "transport between units"}],
        "subject": context.to("patient"),
        "period": period,
        **({"reasonCode": reasons} if reasons else {}),
    }


def _program(context: Context) -> Json:
    version = context.document.program_version
    return {
        "resourceType": "Device",
        "id": "program",
        "text": narrative(f"legbook {version}, a program that records and reminds."),
        "deviceName": [{"name": "legbook", "type": "user-friendly-name"}],
        "version": [{"value": version}],
    }
