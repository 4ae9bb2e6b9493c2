"""Entries that are acts: Procedures, MedicationAdministrations and Communications.

FHIR has no "preliminary" for an act. One that was never confirmed aloud has the status
``unknown``: that it happened is not claimed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.drain import ChamberEmptied, Flushed, ZeroFailed
from voice.entries.kinds.drain_care import CatheterPlaced
from voice.entries.kinds.drugs import (
    DrugGiven,
    InfusionChanged,
    InfusionStarted,
    InfusionStopped,
)
from voice.entries.kinds.fluids import BloodGiven, FluidIn
from voice.entries.kinds.leg import HandedOver, SpokenNote, UnitCalled
from voice.figures.drugs import runs
from voice.report.export.fhir.codes import UNITS
from voice.report.export.fhir.observations import status
from voice.report.export.fhir.parts import (
    concept,
    instant,
    quantity,
    resource_name,
    unknown,
    written,
)
from voice.report.wording import value as value_text

if TYPE_CHECKING:
    from voice.entries.leg import LegEntry
    from voice.report.export.fhir.parts import Context, Json

PROCEDURES = {
    "chamber_emptied", "stopcock_closed", "bag_changed", "flushed", "drain_clamped",
    "drain_opened", "drain_levelled", "drain_zeroed", "zero_failed", "arterial_zeroed",
    "catheter_placed", "disconnection_step", "tubing_checked", "tubing_secured", "stopcocks",
}  # fmt: skip
"""The kinds that are something done to the patient or to the drain."""

MEDICATIONS = {
    "drug_given", "infusion_started", "infusion_changed", "infusion_stopped", "fluid_in",
    "blood_given",
}  # fmt: skip
"""The kinds that are something given."""

COMMUNICATIONS = {"unit_called", "handed_over", "spoken_note"}
"""The kinds that are something told to somebody."""


def procedure(context: Context, e: LegEntry) -> list[Json]:
    """An act as a Procedure; a volume that belongs to it becomes an Observation that is part of it."""
    entry = e.entry
    resource = context.frame("Procedure", e) | {
        "status": _status(e),
        "code": concept(e, None),
        **context.about_patient(),
        **_performed(e),
        "recorder": context.recorder(e),
    }
    if by := getattr(entry, "by", None):
        resource["performer"] = [{"actor": {"display": by}}]
    if reason := getattr(entry, "reason", None):
        resource["reasonCode"] = [{"text": reason}]
    if isinstance(entry, ZeroFailed):
        resource["outcome"] = {"text": "it did not hold"}
    told = value_text(entry)
    resource["note"] = [*([{"text": f"{written(e)}."}] if told else []), *context.notes(e)]
    if not resource["note"]:
        del resource["note"]
    if isinstance(entry, ChamberEmptied | Flushed) and entry.volume_ml is not None:
        return [resource, _volume(context, e, entry.volume_ml)]
    return [resource]


def _performed(e: LegEntry) -> Json:
    """When it was done; of a catheter only the day is told, and no year."""
    if isinstance(e.entry, CatheterPlaced):
        return {"performedString": value_text(e.entry)}
    return {"performedDateTime": instant(e.happened_at)}


def _volume(context: Context, e: LegEntry, volume_ml: float) -> Json:
    resource = context.frame("Observation", e)
    del resource["identifier"]
    code = concept(e, None)
    code["coding"][0]["code"] += ".volume_ml"
    return resource | {
        "id": f"{resource_name(e)}-volume",
        "partOf": [context.to(resource_name(e))],
        "status": status(context, e),
        "code": code,
        **context.about_patient(),
        "effectiveDateTime": instant(e.happened_at),
        "valueQuantity": quantity(volume_ml, "mL", "mL"),
    }


def medication(context: Context, e: LegEntry) -> Json:
    """A dose, a fluid, or a time of an infusion at one rate, as a MedicationAdministration."""
    resource = context.frame("MedicationAdministration", e) | {
        "status": _status(e),
        "category": concept(e, None),
        "medicationCodeableConcept": {"text": _what(e)},
        "subject": context.to("patient"),
        "context": context.to("encounter"),
        "effectiveDateTime": instant(e.happened_at),
    }
    entry = e.entry
    if isinstance(entry, InfusionStarted | InfusionChanged):
        resource |= _running(context, e, entry)
    elif isinstance(entry, InfusionStopped) and e.confirmed:
        resource["status"] = "stopped"
    elif isinstance(entry, DrugGiven):
        dose = quantity(entry.dose, entry.unit, UNITS[entry.unit])
        resource["dosage"] = {"text": value_text(entry), "dose": dose}
    elif isinstance(entry, FluidIn):
        dose = quantity(entry.volume_ml, "mL", "mL")
        resource["dosage"] = {"text": value_text(entry), "dose": dose}
    elif isinstance(entry, BloodGiven):
        resource["dosage"] = {
            "text": value_text(entry),
            "dose": quantity(entry.count, "bags", "{bag}"),
        }
    if isinstance(resource.get("effectivePeriod"), dict):
        del resource["effectiveDateTime"]
    if notes := [*resource.get("note", []), *context.notes(e)]:
        resource["note"] = notes
    return resource


def _what(e: LegEntry) -> str:
    return str(
        next(getattr(e.entry, f) for f in ("drug", "fluid", "product") if hasattr(e.entry, f))
    )


def _running(context: Context, e: LegEntry, entry: InfusionStarted | InfusionChanged) -> Json:
    """From when to when it ran at this rate; what does not count never ran.

    What nobody told to have stopped is "in-progress" only in a document of a leg under way. In any other
    the program does not know which status applies now, which is what FHIR calls "unknown".
    """
    rate = quantity(entry.rate, entry.unit, UNITS[entry.unit])
    told: Json = {"dosage": {"text": value_text(entry), "rateQuantity": rate}}
    if not e.counts:
        return told
    ran = next(r for r in runs(context.document.leg.entries, entry.drug) if r.number == e.number)
    period = {"start": instant(e.happened_at)}
    if ran.end_at is not None:
        period["end"] = instant(ran.end_at)
        if not ran.confirmed:
            told["status"] = "unknown"
    else:
        until = context.told.time(context.document.until)
        told["note"] = [
            {"text": f"Not told to have stopped by {until}; not known what it did since."}
        ]
        if not context.goes_on:
            told["status"] = "unknown"
            period |= unknown("end")
        elif e.confirmed:
            told["status"] = "in-progress"
    return told | {"effectivePeriod": period}


def communication(context: Context, e: LegEntry) -> Json:
    """A call, a handover or a note as a Communication."""
    entry = e.entry
    resource = context.frame("Communication", e) | {
        "status": _status(e),
        "category": [concept(e, None)],
        **context.about_patient(),
        "sent": instant(e.happened_at),
        "payload": [{"contentString": written(e)}],
    }
    match entry:
        case UnitCalled(whom=whom) | HandedOver(to=whom):
            resource["recipient"] = [{"display": whom}]
        case SpokenNote() if e.written_down:
            resource["payload"] = [{"contentString": e.written_down}]
        case _:
            pass
    if notes := context.notes(e):
        resource["note"] = notes
    return resource


def _status(e: LegEntry) -> str:
    if not e.counts:
        return "entered-in-error"
    return "completed" if e.confirmed else "unknown"
