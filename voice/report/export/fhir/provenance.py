"""What became of entries, as Provenance: who corrected, withdrew, approved or added what, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.report.export.fhir.codes import SEAL
from voice.report.export.fhir.parts import NURSE, instant

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.entries.history import EntryTurn
    from voice.report.export.fhir.parts import Context, Json

_OPERATIONS = "http://terminology.hl7.org/CodeSystem/v3-DataOperation"
_PARTICIPANTS = "http://terminology.hl7.org/CodeSystem/provenance-participant-type"

_ACTIVITIES: dict[str, Json] = {
    "kept": {"coding": [{"system": _OPERATIONS, "code": "CREATE"}], "text": "added at the desk"},
    "corrected": {"coding": [{"system": _OPERATIONS, "code": "UPDATE"}], "text": "corrected"},
    "withdrawn": {"coding": [{"system": _OPERATIONS, "code": "NULLIFY"}], "text": "withdrawn"},
    "restored": {
        "coding": [{"system": _OPERATIONS, "code": "UPDATE"}],
        "text": "stands again: what had corrected it was withdrawn",
    },
    "approved": {"text": "approved at the desk"},
}


def provenances(context: Context) -> Iterator[Json]:
    """One for the document, then one for each turn that is more than a word of the nurse kept."""
    yield _of_the_document(context)
    turns = context.document.history
    correcting = {turn.other for turn in turns if turn.became == "corrected"}
    for number, turn in enumerate(turns, 1):
        added = turn.became == "kept" and turn.by is not None and turn.number not in correcting
        if added or turn.became not in {"kept", "confirmed"}:
            yield _of_turn(context, number, turn)


def _of_turn(context: Context, number: int, turn: EntryTurn) -> Json:
    """The correcting entry is what it is about; what was corrected is what it was made from."""
    corrected = turn.became == "corrected"
    about = turn.other if corrected and turn.other is not None else turn.number
    resource: Json = {
        "resourceType": "Provenance",
        "id": f"{turn.became}-{turn.number}-turn-{number}",
        "target": [context.to(f"entry-{about}")],
        "recorded": instant(turn.at),
        "activity": _ACTIVITIES[turn.became],
        "agent": [
            {
                "type": _participant("author" if turn.became != "approved" else "verifier"),
                "role": [{"text": turn.by.role if turn.by else "nurse"}],
                "who": {"display": turn.by.name if turn.by else NURSE},
            }
        ],
    }
    if turn.why:
        resource["reason"] = [{"text": turn.why}]
    if corrected:
        resource["entity"] = [{"role": "revision", "what": context.to(f"entry-{turn.number}")}]
    return resource


def _of_the_document(context: Context) -> Json:
    """Where all of it comes from: the journal, by its seal."""
    journal = context.document.journal
    resource: Json = {
        "resourceType": "Provenance",
        "id": "origin",
        "target": [context.to("composition")],
        "recorded": instant(context.document.as_of),
        "agent": [{"type": _participant("assembler"), "who": context.to("program")}],
    }
    if journal:
        what = {
            "identifier": {"system": SEAL, "value": journal.seal},
            "display": f"Journal of leg {context.document.leg.id}, code {journal.code}",
        }
        resource["entity"] = [{"role": "source", "what": what}]
    return resource


def _participant(code: str) -> Json:
    return {"coding": [{"system": _PARTICIPANTS, "code": code}]}
