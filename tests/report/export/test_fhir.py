"""The leg as a FHIR document, against what HL7 says of one."""

from __future__ import annotations

import json
from copy import deepcopy
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import html5lib
import jsonschema_rs
import pytest

from tests.report.export.documents import NAMES, SEAL, document_of, golden
from tests.report.export.official import schema, vital_signs
from tests.report.export.walking import Walker
from tests.report.test_wording import EXPECTED
from voice.entries.history import EntryTurn
from voice.entries.kinds.drain import Pressure
from voice.entries.kinds.drugs import InfusionChanged, InfusionStarted, InfusionStopped
from voice.entries.kinds.leg import SpokenNote
from voice.entries.kinds.patient import Diagnosis
from voice.entries.kinds.vitals import MeanPressure
from voice.entries.leg import EntryState, LegEntry
from voice.entries.review import Comment, DeskEnd, DeskMark, Reviewer, SignOff
from voice.report.export.fhir.bundle import to_fhir
from voice.report.export.fhir.codes import LOCAL, LOINC
from voice.report.export.fhir.codes import SEAL as SEAL_SYSTEM
from voice.report.export.identity import without_identity
from voice.report.export.table import kinds
from voice.report.telling import CAUTION
from voice.report.wording import entry_text

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from voice.entries.kinds import Entry
    from voice.report.export.document import LegDocument

Json = dict[str, Any]

each_leg = pytest.mark.parametrize("name", NAMES)
SCHEMA = jsonschema_rs.Draft6Validator(schema())


def bundle(document: LegDocument) -> Json:
    """The document as another program reads it."""
    return json.loads(to_fhir(document))  # type: ignore[no-any-return]


def resources(told: Json, of: str) -> list[Json]:
    """All resources of one type."""
    found = (entry["resource"] for entry in told["entry"])
    return [one for one in found if one["resourceType"] == of]


def with_entries(*entries: LegEntry, **more: Any) -> LegDocument:
    """A document of a leg with these entries."""
    document = document_of("quiet")
    leg = document.leg.model_copy(update={"entries": entries})
    return document.model_copy(update={"leg": leg, "history": (), **more})


def said(entry: Entry, number: int = 1, **more: Any) -> LegEntry:
    """An entry, confirmed unless said otherwise."""
    at = document_of("quiet").leg.started_at
    told = {"state": EntryState.CONFIRMED, "was_confirmed": True, "heard": "words", **more}
    return LegEntry(number=number, entry=entry, spoken_at=at, happened_at=at, **told)


EVERY_KIND = with_entries(*(said(entry, n) for n, (entry, _) in enumerate(EXPECTED, 1)))
REVIEWER = Reviewer(name="A. Reviewer", role="flight nurse")


@each_leg
def test_the_document_is_the_golden_one(name: str) -> None:
    """The export of an invented leg is, to the byte, the one that was looked at."""
    assert to_fhir(document_of(name)).encode() == golden(name, "fhir.json").read_bytes()


def reviewed() -> LegDocument:
    """A leg with every act of the desk."""
    at = document_of("quiet").leg.started_at
    pressure = Pressure(value=15, unit="mmHg")
    by = {"at": at, "by": REVIEWER, "why": "misheard <b>"}
    note = Comment(at=at, by=REVIEWER, text="a & b")
    document = with_entries(
        said(pressure, 1, state=EntryState.CORRECTED, replaced_by=2),
        said(pressure, 2, state=EntryState.REVIEWED, replaces=1, comments=(note,),
             desk=DeskMark(act="corrected", **by)),
        said(pressure, 3, state=EntryState.REVIEWED),
        said(pressure, 4, state=EntryState.WITHDRAWN),
        said(pressure, 5, state=EntryState.UNCONFIRMED, was_confirmed=False),
        history=(
            EntryTurn(number=1, became="corrected", other=2, **by),
            EntryTurn(number=3, became="kept", **by),
            EntryTurn(number=4, became="withdrawn", at=at, why="scratch that"),
            EntryTurn(number=5, became="restored", at=at, other=4),
            EntryTurn(number=5, became="approved", **by),
        ),
    )  # fmt: skip
    signed = SignOff(at=at, by=REVIEWER, sounds=1, listened_to=1)
    told = {"signed": signed, "sign_offs": (signed,), "comments": (note,)}
    return document.model_copy(update={"leg": document.leg.model_copy(update=told)})


DOCUMENTS = {
    **{name: document_of(name) for name in NAMES},
    "every kind": EVERY_KIND,
    "reviewed": reviewed(),
    "without identity": without_identity(document_of("troubled")),
}
each_document = pytest.mark.parametrize("document", DOCUMENTS.values(), ids=DOCUMENTS)


@each_document
def test_it_is_as_the_schema_of_hl7_has_it(document: LegDocument) -> None:
    """HL7's own JSON Schema finds nothing wrong: names, types and forms of all that is written."""
    assert not [str(error)[:300] for error in SCHEMA.iter_errors(bundle(document))]


@each_document
def test_it_is_as_the_structure_definitions_of_hl7_have_it(document: LegDocument) -> None:
    """Nothing needed is missing, codes and targets are allowed ones, and HL7's own rules hold."""
    walker = Walker(bundle(document))
    assert walker.faults == []
    assert walker.rules >= {"bdl-10", "bdl-11", "cmp-1", "obs-6", "obs-7", "per-1", "dom-2"}


def test_vital_signs_are_as_the_profiles_of_hl7_have_them() -> None:
    """Each vital sign has the code, the category and the units that HL7's own profile asks for."""
    profiles, met = vital_signs(), set()
    for one in resources(bundle(EVERY_KIND), "Observation"):
        for code in _loinc(one) & set(profiles):
            met.add(code)
            assert one["category"][0]["coding"][0]["code"] == "vital-signs"
            parts = {c: part for part in one.get("component", ()) for c in _loinc(part)} | {"": one}
            for component, units in profiles[code].items():
                assert parts[component]["valueQuantity"]["code"] in units
    assert met == set(profiles)


def _loinc(told: Json) -> set[str]:
    return {c["code"] for c in told["code"]["coding"] if c["system"] == LOINC}


def _without(of: str, key: str) -> Callable[[Json], None]:
    def plant(told: Json) -> None:
        del resources(told, of)[0][key]

    return plant


def _set(of: str, **values: Any) -> Callable[[Json], None]:
    def plant(told: Json) -> None:
        resources(told, of)[0].update(values)

    return plant


def _last_first(told: Json) -> None:
    told["entry"].append(told["entry"].pop(0))


def _absent_and_there(told: Json) -> None:
    one = next(o for o in resources(told, "Observation") if "valueQuantity" in o)
    one["dataAbsentReason"] = {"text": "why"}


def _dose_lost(told: Json) -> None:
    dosage = next(m["dosage"] for m in resources(told, "MedicationAdministration") if "dosage" in m)
    dosage.pop("dose", None)
    dosage.pop("rateQuantity", None)


FAULTS: dict[str, Callable[[Json], None]] = {
    "status: 0 where": _without("Observation", "status"),
    "code: 0 where": _without("Observation", "code"),
    "medication[x]: 0 where": _without("MedicationAdministration", "medicationCodeableConcept"),
    "class: 0 where": _without("Encounter", "class"),
    "timestamp": lambda told: told.pop("timestamp"),
    "observation-status": _set("Observation", status="sure"),
    "event-status": _set("Procedure", status="done"),
    "provenance-entity-role": _set("Provenance", entity=[{"role": "x", "what": {}}]),
    "leads nowhere": _set("Observation", subject={"reference": "urn:uuid:0"}),
    "bdl-11": _last_first,
    "obs-6": _absent_and_there,
    "mad-1": _dose_lost,
    "cmp-1": _set("Composition", section=[{"title": "nothing"}]),
    "per-1": _set("Encounter", period={"start": "2026-01-02", "end": "2026-01-01"}),
    "empty": _set("Observation", note=[{}]),
}


@pytest.mark.parametrize("found", FAULTS)
def test_what_is_wrong_is_found(found: str) -> None:
    """Each planted fault is found, and called by its name; so the checks above can fail."""
    told = deepcopy(bundle(document_of("troubled")))
    FAULTS[found](told)
    faults = Walker(told).faults
    assert any(found in fault for fault in faults), faults


def test_a_wrong_type_of_target_is_found() -> None:
    """A subject that is no patient is found."""
    told = bundle(document_of("quiet"))
    composition = told["entry"][0]["fullUrl"]
    resources(told, "Procedure")[0]["subject"] = {"reference": composition}
    assert any("Composition where" in fault for fault in Walker(told).faults)


def test_every_kind_of_entry_is_told_once() -> None:
    """Each entry, of whatever kind, has its own resource with its kind's code and its words."""
    told = bundle(EVERY_KIND)
    by_id = {entry["resource"]["id"]: entry["resource"] for entry in told["entry"]}
    assert len(by_id) == len(told["entry"])
    sections = {
        ref["reference"]
        for section in resources(told, "Composition")[0]["section"]
        for ref in section.get("entry", ())
    }
    seen = set()
    for e in EVERY_KIND.leg.entries:
        resource = by_id[f"entry-{e.number}"]
        text = json.dumps(resource, ensure_ascii=False)
        assert f'"system": "{LOCAL}kind", "code": "{e.entry.kind}"' in text
        assert entry_text(e.entry).replace("&", "&amp;") in resource["text"]["div"]
        urls = {x["fullUrl"] for x in told["entry"] if x["resource"] is resource}
        assert urls <= sections
        seen.add(e.entry.kind)
    assert seen == {kind.model_fields["kind"].default for kind in kinds()}


def test_every_number_of_every_kind_stands_in_a_value() -> None:
    """No number that was told stands in the words alone, where a program would not find it."""
    told = bundle(EVERY_KIND)
    for e in EVERY_KIND.leg.entries:
        mine = [
            entry["resource"]
            for entry in told["entry"]
            if entry["resource"]["id"].partition("-volume")[0] == f"entry-{e.number}"
        ]
        numbers = [v for one in mine for v in _numbers(one)]
        for name, value in e.entry.model_dump().items():
            in_words = e.entry.kind == "catheter_placed"  # a day without a year is no date
            if isinstance(value, int | float) and not isinstance(value, bool) and not in_words:
                assert value in numbers, (e.entry.kind, name)


def _numbers(told: Any) -> Iterator[float]:
    if isinstance(told, dict):
        for key, value in told.items():
            if key == "value" and isinstance(value, int | float):
                yield value
            else:
                yield from _numbers(value)
    elif isinstance(told, list):
        for value in told:
            yield from _numbers(value)


def test_the_state_of_an_entry_is_its_status() -> None:
    """What is in doubt is preliminary, what was put right corrected, what is gone in error."""
    told = {o["id"]: o["status"] for o in resources(bundle(reviewed()), "Observation")}
    assert told == {
        "entry-1": "entered-in-error",
        "entry-2": "corrected",
        "entry-3": "final",
        "entry-4": "entered-in-error",
        "entry-5": "preliminary",
    }


def test_a_pressure_after_a_failed_zero_is_not_final() -> None:
    """A pressure that is not to be relied on is preliminary, as is what is worked out from it."""
    document = document_of("troubled")
    pressure = next(e for e in reversed(document.leg.entries) if e.entry.kind == "pressure")
    mean = pressure.model_copy(update={"number": 99, "entry": MeanPressure(value_mmhg=90)})
    leg = document.leg.model_copy(update={"entries": (*document.leg.entries, mean)})
    told = resources(bundle(document.model_copy(update={"leg": leg})), "Observation")
    by_id = {one["id"]: one for one in told}
    worked_out = [one for one in told if one["id"].startswith("perfusion")][-1]
    for one in (by_id[f"entry-{pressure.number}"], worked_out):
        assert one["status"] == "preliminary"
        assert {"text": "not to be relied on: zero failed 23:35."} in one["note"]
    assert by_id["entry-99"]["status"] == "final"


def test_an_infusion_that_was_withdrawn_ran_at_no_time() -> None:
    """What no longer counts has no time over which it ran."""
    start = said(
        InfusionStarted(drug="propofol", rate=4, unit="mg/kg/h"), state=EntryState.WITHDRAWN
    )
    (gone,) = resources(bundle(with_entries(start)), "MedicationAdministration")
    assert gone["status"] == "entered-in-error"
    assert "effectivePeriod" not in gone


def test_a_note_that_was_written_down_is_told_in_its_words() -> None:
    """A spoken note tells where its sound lies; written down, it is sent in those words."""
    note = said(SpokenNote(), clip="0007.flac")
    (bare,) = resources(bundle(with_entries(note)), "Communication")
    assert any("0007.flac" in one["text"] for one in bare["note"])
    written = note.model_copy(update={"written_down": "the family was told"})
    (told,) = resources(bundle(with_entries(written)), "Communication")
    assert told["payload"] == [{"contentString": "the family was told"}]


def test_an_infusion_whose_end_is_in_doubt_is_not_completed() -> None:
    """Where a stop was never confirmed, nothing claims that the infusion ran until then."""
    at = document_of("quiet").leg.started_at
    start = said(InfusionStarted(drug="propofol", rate=4, unit="mg/kg/h"), 1)
    stop = said(
        InfusionStopped(drug="propofol"), 2, state=EntryState.UNCONFIRMED, was_confirmed=False
    ).model_copy(update={"happened_at": at + timedelta(minutes=9)})
    running, _ = resources(bundle(with_entries(start, stop)), "MedicationAdministration")
    assert running["status"] == "unknown"


START_PROPOFOL = InfusionStarted(drug="propofol", rate=4, unit="mg/kg/h")
END_UNKNOWN = {
    "extension": [
        {
            "url": "http://hl7.org/fhir/StructureDefinition/data-absent-reason",
            "valueCode": "unknown",
        }
    ]
}


def test_an_infusion_is_in_progress_only_while_its_leg_is() -> None:
    """What nobody stopped is in progress on a leg under way; of one that is over its end is not known."""
    ended = with_entries(said(START_PROPOFOL, 1))
    open_leg = ended.leg.model_copy(update={"ended_at": None, "flown_until": ended.as_of})
    under_way = ended.model_copy(update={"leg": open_leg})
    broken_off = under_way.model_copy(update={"as_of": ended.as_of + timedelta(days=3)})
    for document, status in (
        (under_way, "in-progress"),
        (broken_off, "unknown"),
        (ended, "unknown"),
    ):
        told = bundle(document)
        (alone,) = resources(told, "MedicationAdministration")
        assert alone["status"] == status
        assert "end" not in alone["effectivePeriod"]
        assert alone["effectivePeriod"].get("_end") == (
            END_UNKNOWN if status == "unknown" else None
        )
        assert any("Not told to have stopped by" in note["text"] for note in alone["note"])
        assert Walker(told).faults == []
        assert not list(SCHEMA.iter_errors(told))
    unsure = said(START_PROPOFOL, 1, state=EntryState.UNCONFIRMED, was_confirmed=False)
    flying = under_way.model_copy(
        update={"leg": open_leg.model_copy(update={"entries": (unsure,)})}
    )
    (alone,) = resources(bundle(flying), "MedicationAdministration")
    assert alone["status"] == "unknown"


def test_two_rates_of_one_moment_are_two_times() -> None:
    """A start and a change told for one moment are no time at the first rate, and all of it at the second."""
    start = said(START_PROPOFOL, 1)
    change = said(InfusionChanged(drug="propofol", rate=6, unit="mg/kg/h"), 2)
    stop = said(InfusionStopped(drug="propofol"), 3)
    later = stop.model_copy(update={"happened_at": stop.happened_at + timedelta(minutes=9)})
    told = resources(bundle(with_entries(start, change, later)), "MedicationAdministration")
    first, second = (one["effectivePeriod"] for one in told[:2])
    assert first["start"] == first["end"] == second["start"]
    assert second["end"] == told[2]["effectiveDateTime"]


@each_leg
def test_no_act_that_was_never_confirmed_is_completed(name: str) -> None:
    """An act has no "preliminary": where nobody confirmed it, FHIR is told that it is unknown."""
    document = document_of(name)
    unsure = {f"entry-{e.number}" for e in document.leg.entries if not e.confirmed}
    runs_on = {
        one["id"]
        for one in resources(bundle(document), "MedicationAdministration")
        if "_end" in one.get("effectivePeriod", {})
    }
    for of in ("Procedure", "MedicationAdministration", "Communication"):
        for one in resources(bundle(document), of):
            assert (one["status"] in {"unknown", "entered-in-error"}) == (
                one["id"] in unsure | runs_on
            )


def test_who_corrected_what_and_why_is_told() -> None:
    """Each act of the desk has its Provenance with who, when, why, and what it replaced."""
    told = bundle(reviewed())
    urls = {entry["resource"]["id"]: entry["fullUrl"] for entry in told["entry"]}
    origin, corrected, added, withdrawn, _, approved = resources(told, "Provenance")
    assert origin["entity"][0]["what"]["identifier"] == {"system": SEAL_SYSTEM, "value": SEAL}
    assert corrected["target"] == [{"reference": urls["entry-2"]}]
    assert corrected["entity"] == [{"role": "revision", "what": {"reference": urls["entry-1"]}}]
    assert corrected["agent"][0]["who"]["display"] == "A. Reviewer"
    assert corrected["agent"][0]["role"] == [{"text": "flight nurse"}]
    assert corrected["reason"] == [{"text": "misheard <b>"}]
    assert added["activity"]["coding"][0]["code"] == "CREATE"
    assert withdrawn["activity"]["coding"][0]["code"] == "NULLIFY"
    assert withdrawn["agent"][0]["who"]["display"] == "transport nurse, by voice"
    assert approved["agent"][0]["type"]["coding"][0]["code"] == "verifier"


def test_what_was_put_down_at_the_desk_is_not_said_to_be_the_nurses() -> None:
    """An entry that a reviewer added names the reviewer, any other the nurse."""
    told = {o["id"]: o["performer"] for o in resources(bundle(reviewed()), "Observation")}
    assert told["entry-3"] == [{"display": "A. Reviewer, flight nurse"}]
    assert told["entry-4"] == [{"display": "transport nurse, by voice"}]


def test_a_signed_leg_says_by_whom() -> None:
    """A leg that a reviewer stands for is final, and says who that is; any other is not."""
    (composition,) = resources(bundle(reviewed()), "Composition")
    assert composition["status"] == "final"
    assert composition["attester"][0]["party"]["display"] == "A. Reviewer, flight nurse"
    assert resources(bundle(document_of("quiet")), "Composition")[0]["status"] == "preliminary"


@each_document
def test_the_words_are_well_formed(document: LegDocument) -> None:
    """What stands for people to read is sound XHTML, whatever signs were written at the desk."""
    for entry in bundle(document)["entry"]:
        resource = entry["resource"]
        texts = [resource.get("text"), *(s["text"] for s in resource.get("section", ()))]
        for text in filter(None, texts):
            html5lib.HTMLParser(strict=True).parseFragment(text["div"])
            assert text["div"].startswith('<div xmlns="http://www.w3.org/1999/xhtml"><p>')


def test_the_encounter_says_why_the_patient_travels() -> None:
    """A diagnosis that somebody stands for is the reason of the encounter, any other is not."""
    told = [
        said(Diagnosis(diagnosis="stroke"), 1),
        said(Diagnosis(diagnosis="aneurysm"), 2, state=EntryState.UNCONFIRMED),
        said(Diagnosis(diagnosis="meningitis"), 3, state=EntryState.WITHDRAWN),
    ]
    (encounter,) = resources(bundle(with_entries(*told)), "Encounter")
    assert encounter["reasonCode"] == [{"text": "stroke"}]
    (without,) = resources(bundle(with_entries()), "Encounter")
    assert "reasonCode" not in without


def test_the_caution_stands_first() -> None:
    """Whoever reads the document reads the caution before any section, and the seal names it."""
    told = bundle(document_of("quiet"))
    (composition,) = resources(told, "Composition")
    assert CAUTION in composition["text"]["div"]
    assert composition["section"][0]["title"] == "Caution"
    assert told["identifier"]["value"] == SEAL


def test_two_legs_without_identity_share_no_address() -> None:
    """Where neither leg nor seal may be named, two legs still have no resource in common."""
    one, other = (bundle(without_identity(document_of(name))) for name in ("quiet", "long"))
    assert not {e["fullUrl"] for e in one["entry"]} & {e["fullUrl"] for e in other["entry"]}
    assert SEAL not in json.dumps(one)


def test_a_stretch_of_an_infusion_ends_where_the_next_begins() -> None:
    """An infusion is told by the times for which it ran at one rate; only the last may run on."""
    told = [
        m
        for m in resources(bundle(document_of("long")), "MedicationAdministration")
        if "effectivePeriod" in m
    ]
    assert told
    for one in told:
        assert ("end" in one["effectivePeriod"]) == (one["status"] == "completed")
        assert one["dosage"]["rateQuantity"]["code"] in {"mg/kg/h", "ug/kg/min"}


def test_every_reading_has_a_system_for_its_codes() -> None:
    """Each coding names a system: LOINC, HL7's, or one that says that it is legbook's own."""
    for coding in _codings(bundle(EVERY_KIND)):
        assert coding["system"].startswith((LOINC, LOCAL, "http://terminology.hl7.org/"))


def _codings(told: Any) -> Iterator[Json]:
    if isinstance(told, dict):
        yield from told.get("coding", ())
        for value in told.values():
            yield from _codings(value)
    elif isinstance(told, list):
        for value in told:
            yield from _codings(value)


def test_a_leg_without_an_end_is_not_told_as_going_on_for_ever() -> None:
    """It is in progress as of its last event; where the desk came after that, how it ended is unknown."""
    document = document_of("broken_off")
    (encounter,) = resources(bundle(document), "Encounter")
    assert encounter["status"] == "in-progress"
    later = document.model_copy(update={"as_of": document.as_of + timedelta(days=3)})
    (encounter,) = resources(bundle(later), "Encounter")
    assert encounter["status"] == "unknown"
    assert "end" not in encounter["period"]
    assert "The last that is known of it is of 2026-05-01T14:52:00" in encounter["text"]["div"]
    by = Reviewer(name="A. Reviewer", role="flight nurse")
    end = {
        "ended_at": document.until,
        "desk_end": DeskEnd(at=later.as_of, by=by, why="nobody said so"),
    }
    ended = later.model_copy(update={"leg": later.leg.model_copy(update=end)})
    (encounter,) = resources(bundle(ended), "Encounter")
    assert (encounter["status"], encounter["period"]["end"]) == ("finished", "2026-05-01T14:52:00Z")
    assert "told at the desk by A. Reviewer, flight nurse." in encounter["text"]["div"]
