"""The small parts of which FHIR resources are made, and the leg that they are about."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC
from functools import cached_property
from html import escape
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid5

from voice.entries.leg import EntryState
from voice.report.export.fhir.codes import ENTRY, KIND, LOINC, UCUM
from voice.report.wording import entry_text, label

if TYPE_CHECKING:
    from datetime import datetime

    from voice.entries.leg import LegEntry
    from voice.entries.review import Reviewer
    from voice.report.export.document import LegDocument
    from voice.report.export.fhir.codes import Code
    from voice.report.telling import Telling

Json = dict[str, Any]
"""A resource, or a part of one."""

_NAMES = UUID("5ea1b00c-0000-5000-8000-1e6b00c0fade")
"""The space of names in which a leg has its resources."""
NURSE = "transport nurse, by voice"
"""Who is told to have said an entry. Who did what is done, or read what was read, legbook does not
know unless that was said."""

_ABSENT_REASON = "http://hl7.org/fhir/StructureDefinition/data-absent-reason"

_SINCE_THE_LAST = {"drained", "urine_out", "fluid_in"}
"""Kinds that tell a volume of the time since the last entry, not of a moment."""


@dataclass(frozen=True)
class Context:
    """What every resource of a leg's document needs."""

    document: LegDocument
    told: Telling
    base: str
    """Tells apart the resources of two legs."""

    @cached_property
    def was_confirmed(self) -> frozenset[int]:
        """The entries that were confirmed aloud, whatever became of them since."""
        return frozenset(e.number for e in self.document.leg.entries if e.was_confirmed)

    @property
    def goes_on(self) -> bool:
        """Whether the leg was under way when the document was made, as far as its journal can tell.

        It has no end, and the desk was not at work on it since the last of it was written.
        """
        leg = self.document.leg
        worked_on = leg.flown_until is not None and leg.flown_until < self.document.as_of
        return leg.ended_at is None and not worked_on

    @cached_property
    def _put_down_by(self) -> dict[int, Reviewer | None]:
        return {t.number: t.by for t in self.document.history if t.became == "kept"}

    def recorder(self, e: LegEntry) -> Json:
        """Who put the entry down: the nurse, or a reviewer at the desk."""
        by = self._put_down_by.get(e.number)
        return {"display": NURSE if by is None else str(by)}

    def url(self, name: str) -> str:
        """The address of a resource within the document."""
        return f"urn:uuid:{uuid5(_NAMES, f'{self.base}/{name}')}"

    def to(self, name: str) -> Json:
        """A reference to it."""
        return {"reference": self.url(name)}

    def about_patient(self) -> Json:
        """Whom and what journey a resource is about."""
        return {"subject": self.to("patient"), "encounter": self.to("encounter")}

    def frame(self, resource_type: str, e: LegEntry) -> Json:
        """What every resource that is made of an entry begins with."""
        return {
            "resourceType": resource_type,
            "id": resource_name(e),
            "text": narrative(self.told.row(e)),
            "identifier": [{"system": ENTRY, "value": f"{self.document.leg.id}/{e.number}"}],
        }

    def marks(self, number: int) -> list[str]:
        """What is marked on an entry, a sentence each."""
        return [f"{one.text(self.told.time)}." for one in self.told.marks.get(number, ())]

    def notes(self, e: LegEntry) -> list[Json]:
        """What was heard, what is in doubt, and what reviewers wrote."""
        texts = [f"Heard: “{e.heard}”."] if e.heard else []
        if e.clip:
            texts.append(f"Its sound is kept in the leg's folder as {e.clip}.")
        if e.state is EntryState.UNCONFIRMED:
            texts.append("Never confirmed aloud.")
        texts += self.marks(e.number)
        if e.entry.kind in _SINCE_THE_LAST:
            texts.append("Since the last entry of the same; the time is that of telling.")
        if e.written_down:
            texts.append(f"Written down at the desk: {e.written_down}")
        notes: list[Json] = [{"text": text} for text in texts]
        notes += [
            {"authorString": str(c.by), "time": instant(c.at), "text": c.text} for c in e.comments
        ]
        return notes


def resource_name(e: LegEntry) -> str:
    """The id of the resource that is made of an entry."""
    return f"entry-{e.number}"


def subject(e: LegEntry) -> str:
    """The module in which its kind is declared: "drain", "vitals"."""
    return type(e.entry).__module__.rpartition(".")[2]


def concept(e: LegEntry, public: Code | None) -> Json:
    """What an entry is: in LOINC where that has it, and in legbook's own code."""
    return {"coding": codings(e.entry.kind, public), "text": label(e.entry)}


def codings(local: str, public: Code | None) -> list[Json]:
    """The public codes first, where there are any."""
    loinc = [code for code in (public.code, public.wider) if code] if public else []
    return [*({"system": LOINC, "code": c} for c in loinc), {"system": KIND, "code": local}]


def quantity(value: float, unit: str, ucum: str) -> Json:
    """A value with its unit, as it was said and in UCUM."""
    whole = int(value) if value == int(value) else value
    return {"value": whole, "unit": unit, "system": UCUM, "code": ucum}


def instant(at: datetime) -> str:
    """A moment, in UTC."""
    return at.astimezone(UTC).isoformat().replace("+00:00", "Z")


def unknown(element: str) -> Json:
    """Told in place of an element whose value is not known, by HL7's extension data-absent-reason.

    An end that is simply missing would mean that the period goes on (HL7 FHIR R4, data type Period).
    """
    return {f"_{element}": {"extension": [{"url": _ABSENT_REASON, "valueCode": "unknown"}]}}


def narrative(*paragraphs: str) -> Json:
    """The text for whoever reads without a program."""
    inner = "".join(f"<p>{escape(p, quote=False)}</p>" for p in paragraphs)
    return {
        "status": "generated",
        "div": f'<div xmlns="http://www.w3.org/1999/xhtml">{inner}</div>',
    }


def written(e: LegEntry) -> str:
    """The entry in words."""
    return entry_text(e.entry)
