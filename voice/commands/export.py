"""A leg as a file for other programs, and the proof that such a file is of a leg that is kept."""

from __future__ import annotations

import re
from enum import StrEnum
from importlib.metadata import version
from typing import TYPE_CHECKING, NamedTuple

from voice.record.shelf import spare_folder
from voice.record.story import story, story_until
from voice.report.export.csv_file import metadata, to_csv
from voice.report.export.document import ExportError, JournalHead, LegDocument, to_json
from voice.report.export.fhir.bundle import to_fhir
from voice.report.export.identity import without_identity
from voice.report.export.parquet import to_parquet

if TYPE_CHECKING:
    from pathlib import Path

    from voice.record.story import Story

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


class _File(NamedTuple):
    path: Path
    content: bytes


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
    path = file or folder / form.file_name
    files = _files(document, form, path)
    for one in files:
        try:
            one.path.write_bytes(one.content)
        except OSError as error:
            raise ExportError(
                f"The leg cannot be exported to {one.path} ({error.strerror}). "
                "The leg itself is safe: name another file with --out."
            ) from error
    return tuple(one.path for one in files)


def prove(folder: Path, file: Path) -> str:
    """Say that ``file`` is an export of the leg in ``folder``, byte for byte, and of which moment.

    The leg is exported again as it stood at the seal that the file names.

    :raises JournalError: where there is no leg, or it is not as it was written.
    :raises ExportError: where the file is anything else, or cannot be read.
    """
    try:
        content = file.read_bytes()
    except OSError as error:
        raise ExportError(f"{file} cannot be read ({error.strerror}).") from error
    seals = {seal.decode() for seal in _SEAL.findall(content)}
    told = story_until(folder, seals, spare_folder(folder))
    if told is None:
        raise ExportError(f"{file} names no seal that leg {folder.name} has ever had.")
    document = _document(told)
    form = _form(content)
    if form is None or _files(document, form, file)[0].content != content:
        raise ExportError(
            f"{file} names the seal of event {told.head.number} of leg {folder.name}, but is not what "
            "this legbook exports of it: it was changed, or another version of legbook wrote it."
        )
    return f"{file} is leg {folder.name} as it was kept up to event {told.head.number}."


def _form(content: bytes) -> Form | None:
    """In which form a file seems to be."""
    begins = {b"PAR1": Form.PARQUET, b'{\n  "format"': Form.JSON, b'{\n "resourceType"': Form.FHIR}
    begins[b"leg,"] = Form.CSV
    return next((form for first, form in begins.items() if content.startswith(first)), None)


def _document(told: Story) -> LegDocument:
    return LegDocument(
        program_version=version("legbook"),
        as_of=told.as_of,
        journal=JournalHead(events=told.head.number, seal=told.head.hash),
        leg=told.leg,
        history=told.turns,
    )


def _files(document: LegDocument, form: Form, path: Path) -> tuple[_File, ...]:
    """The file itself, and what belongs beside it."""
    match form:
        case Form.CSV:
            beside = path.with_name(f"{path.name}-metadata.json")
            return (
                _File(path, to_csv(document).encode()),
                _File(beside, metadata(document, path.name).encode()),
            )
        case Form.JSON:
            return (_File(path, to_json(document).encode()),)
        case Form.FHIR:
            return (_File(path, to_fhir(document).encode()),)
        case Form.PARQUET:
            return (_File(path, to_parquet(document)),)
