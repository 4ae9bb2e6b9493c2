"""A leg as a file for other programs and back, and the proof that such a file is of a leg that is kept."""

from __future__ import annotations

import re
from enum import StrEnum
from importlib.metadata import version
from typing import TYPE_CHECKING

from voice.commands.seal import told_seal
from voice.meaning.handoff import load_needs
from voice.record.chain import Head
from voice.record.durable import replace_file
from voice.record.proof import code
from voice.record.shelf import leave, load, spare_folder
from voice.record.signing import holds
from voice.record.story import story, story_until
from voice.report.export.compare import compared
from voice.report.export.csv_file import metadata, to_csv
from voice.report.export.document import (
    ExportError,
    JournalHead,
    LegDocument,
    as_written,
    fields_of,
    from_json,
    to_json,
)
from voice.report.export.fhir.bundle import to_fhir
from voice.report.export.identity import without_identity
from voice.report.export.parquet import to_parquet
from voice.report.summary import summary_text
from voice.report.telling import damage
from voice.session.own_phrases import handoff_lists

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from voice.entries.leg import Leg
    from voice.record.story import Story

_NAMED = 4
"""So many fields are named of those that a file lacks."""
_SEAL = re.compile(rb"[0-9a-f]{64}")


class Form(StrEnum):
    """The forms in which a leg can be exported."""

    CSV = "csv"
    JSON = "json"
    FHIR = "fhir"
    PARQUET = "parquet"

    @property
    def file_name(self) -> str:
        """Of the file in the leg's folder."""
        return "leg.fhir.json" if self is Form.FHIR else f"leg.{self.value}"


def export_leg(
    folder: Path, form: Form, file: Path | None = None, *, identity: bool = True
) -> tuple[Path, ...]:
    """Write the leg in ``folder`` as it stands, and say which files were written.

    :param file: where to; else into the leg's folder. What is there already is written over.
    :param identity: else what could lead to the patient is left out.
    :raises JournalError: where nothing can be read of the leg.
    :raises ExportError: where a file cannot be written.
    """
    document = _document(story(folder, spare_folder(folder)))
    if not identity:
        document = without_identity(document)
    files = _files(document, form, file.name if file else form.file_name)
    try:
        return tuple(_write(folder, file, name, content) for name, content in files.items())
    except OSError as error:
        raise ExportError(
            f"The leg cannot be exported to {file or folder / form.file_name} ({error.strerror}). "
            "The leg itself is safe: name another file with --out."
        ) from error


def told_damage(folder: Path) -> str | None:
    """What is wrong with the journal of the leg in ``folder``, and with every file that is made of it."""
    found = damage(load(folder, spare_folder(folder)))
    return f"{found[0]} What is wrong or missing there is so in the file." if found else None


def _write(folder: Path, file: Path | None, name: str, content: bytes) -> Path:
    if file is None:
        return leave(folder, name, content)
    replace_file(file.with_name(name), content)
    return file.with_name(name)


def summary_of_export(file: Path) -> str:
    """The summary of a leg that was exported as JSON, on this or on another machine.

    :raises ExportError: where the file is no such export, was changed, or cannot be read.
    :raises GrammarError: where the programme's list for a handoff cannot be read.
    """
    document = from_json(_read(file), str(file))
    text = summary_text(document.leg, document.until, load_needs(*handoff_lists()))
    journal = document.journal
    if journal is None:
        return f"{text}\n\nThe journal\n  The leg was exported without identity: no seal is known."
    return (
        f"{text}\n\nThe journal\n  {journal.events} events, as the file tells. Its code:\n"
        f"    {journal.code}\n  Its whole seal:\n    {journal.seal}\n  {_told_signature(document.leg, journal)}"
    )


def _told_signature(leg: Leg, journal: JournalHead) -> str:
    """What an export by itself proves of the seal that it names, and what only the leg does."""
    told, seal = told_seal(leg, journal.sealed), journal.sealed
    if seal is None or seal.signature is None:
        return told
    if not holds(seal.signature, leg.id, Head(seal.events, seal.head), seal.at):
        return f"{told} The signature does NOT hold: do not rely on the file."
    return (
        f"{told} The signature holds for a leg of this id with that many events. That this file "
        "tells what stands in them, only the leg itself proves: legbook verify --export"
    )


def _read(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise ExportError(f"{file} cannot be read ({error.strerror}).") from error


def prove(folder: Path, file: Path) -> str:
    """Say that ``file`` is an export of the leg in ``folder``, byte for byte, and of which moment.

    The leg is exported again as it stood at the seal that the file names. Of a JSON that an earlier legbook wrote, which
    knew fewer fields, it is told that all it says is so, where what it lacks says nothing of this leg.

    :raises JournalError: where there is no leg, or it is not as it was written.
    :raises ExportError: where the file is anything else, or cannot be read.
    """
    content = _read(file)
    seals = {seal.decode() for seal in _SEAL.findall(content)}
    if not seals:
        raise ExportError(
            f"{file} names no seal, so it cannot be checked: it was exported without identity, or is no "
            "export."
        )
    told = story_until(folder, seals, spare_folder(folder))
    if told is None:
        raise ExportError(
            f"{file} names no seal that leg {folder.name} has ever had: it is of another leg, of one that was "
            "put back to an earlier state, or was exported without identity and cannot be checked."
        )
    document = _document(told)
    form = _form(content)
    if form is Form.JSON and to_json(document).encode() != content:
        return _proven_by_its_fields(folder, file, content, document)
    if form is None or _files(document, form, file.name)[file.name] != content:
        raise ExportError(
            f"{file} names the seal of event {told.head.number} of leg {folder.name}, but is not what "
            "this legbook exports of it: it was changed, or another version of legbook wrote it."
        )
    return f"{file} is leg {folder.name} as it was kept up to event {told.head.number}."


def _proven_by_its_fields(folder: Path, file: Path, content: bytes, document: LegDocument) -> str:
    """What a JSON that is not the same bytes says of the leg, and whether that is all; raises ExportError."""
    told = fields_of(content, str(file))
    journal = document.journal
    of = f"leg {folder.name} as it was kept up to event {journal.events if journal else 0}"
    if as_written(told).encode() != content:
        raise ExportError(f"{file} is not as legbook writes it: it was changed. Do not rely on it.")
    found = compared(told, document.model_dump(mode="json"))
    writer = f"legbook {told.get('program_version')}"
    if found.otherwise:
        raise ExportError(
            f"{file} names the seal of {of}, but tells otherwise: {found.otherwise[0]}. It was changed, or "
            f"{writer}, which it says wrote it, understood the leg in another way."
        )
    if found.lacks:
        raise ExportError(
            f"{file} is not all of {of}. What it tells is so, but it lacks {_list_of(found.lacks)}. "
            f"It is of format version {told['format_version']}, as {writer} wrote it, perhaps before there was that; "
            "or somebody took it out. Export the leg again."
        )
    if not found.lacks_empty:
        return f"{file} is {of}, all that it tells; {writer} wrote it."
    return (
        f"{file} tells what {of} tells, and nothing is left out. It is not the same bytes: an earlier legbook wrote it, before "
        f"there was {_list_of(found.lacks_empty)}, of which this leg has nothing."
    )


def _list_of(places: Sequence[str]) -> str:
    return ", ".join(places[:_NAMED]) + (
        f" and {len(places) - _NAMED} more" if len(places) > _NAMED else ""
    )


def _form(content: bytes) -> Form | None:
    """In which form a file seems to be, by its first bytes."""
    begins = {
        b"leg,": Form.CSV,
        b'{\n  "format"': Form.JSON,
        b'{\n "resourceType"': Form.FHIR,
        b"PAR1": Form.PARQUET,
    }
    return next((form for first, form in begins.items() if content.startswith(first)), None)


def _document(told: Story) -> LegDocument:
    return LegDocument(
        program_version=version("legbook"),
        as_of=told.as_of,
        journal=JournalHead(
            events=told.head.number, seal=told.head.hash, code=code(told.head), sealed=told.seal
        ),
        leg=told.leg,
        history=told.turns,
    )


def _files(document: LegDocument, form: Form, name: str) -> dict[str, bytes]:
    """By name, the file itself and what belongs beside it."""
    match form:
        case Form.CSV:
            return {
                name: to_csv(document).encode(),
                f"{name}-metadata.json": metadata(document, name).encode(),
            }
        case Form.JSON:
            return {name: to_json(document).encode()}
        case Form.FHIR:
            return {name: to_fhir(document).encode()}
        case Form.PARQUET:
            return {name: to_parquet(document)}
