"""The whole leg as one JSON document, and back."""

from __future__ import annotations

import json
from hashlib import sha256
from typing import TYPE_CHECKING, Any, Final, Literal

from pydantic import AwareDatetime, Field, ValidationError

from voice.entries.errors import LegbookError
from voice.entries.frozen import Frozen
from voice.entries.history import EntryTurn
from voice.entries.leg import Leg
from voice.entries.seal import Seal
from voice.report.telling import CAUTION

if TYPE_CHECKING:
    from datetime import datetime

FORMAT: Final = "legbook leg"
VERSION: Final = 1


class ExportError(LegbookError):
    """A file was not written, or cannot be taken for the export of a leg."""


class JournalHead(Frozen):
    """How far the journal had come when the leg was taken from it."""

    events: int = Field(ge=1)
    seal: str = Field(pattern=r"^[0-9a-f]{64}$")
    """The hash that ``legbook verify`` shows, or showed while this was the last event."""
    code: str
    """The same in short, as it stands on paper; ``legbook verify --code`` takes either."""
    sealed: Seal | None = None
    """How the leg was closed by then, and who signed it; ``None`` where it was not closed."""


class LegDocument(Frozen):
    """A leg with what became of its entries, and where it comes from."""

    format: Literal["legbook leg"] = FORMAT
    format_version: Literal[1] = VERSION
    caution: str = CAUTION
    program_version: str
    """Of the legbook that wrote this."""
    as_of: AwareDatetime
    """When the last event was written that this tells of."""
    journal: JournalHead | None
    """``None`` where the leg is told without identity: the seal would lead back to it."""
    leg: Leg
    history: tuple[EntryTurn, ...]
    """What became of each entry, in the order in which it happened."""

    @property
    def until(self) -> datetime:
        """Up to when what was not over counts: the leg's end, or the last that is known of it."""
        return self.leg.known_until or self.as_of


class LegFile(LegDocument):
    """A `LegDocument` as it lies in a file."""

    digest: str = Field(pattern=r"^[0-9a-f]{64}$")
    """SHA-256 of all the rest as JSON with sorted keys, no spaces and no escapes beyond ASCII's."""


def to_json(document: LegDocument) -> str:
    """The document with its digest, as readable JSON."""
    return as_written(document.model_dump(mode="json"))


def from_json(text: str | bytes, name: str = "The file") -> LegDocument:
    """The document that `to_json` wrote; ``name`` is what errors call it.

    Raises:
        ExportError: where it is no such document, is of another version, or was changed since.
    """
    told = fields_of(text, name)
    try:
        return LegDocument.model_validate_json(json.dumps(told))
    except ValidationError as error:
        where = ".".join(map(str, error.errors()[0]["loc"]))
        raise ExportError(
            f"{name} was written by another version of legbook: this one cannot read {where}."
        ) from None


def fields_of(text: str | bytes, name: str = "The file") -> dict[str, Any]:
    """What `to_json` wrote, of whatever program of this format version, without its digest. Raises as `from_json`."""
    try:
        told = json.loads(text)
    except (ValueError, RecursionError):
        raise ExportError(f"{name} is not JSON, or was cut off. Export the leg again.") from None
    if not isinstance(told, dict) or told.get("format") != FORMAT:
        raise ExportError(f"{name} is not a leg that legbook exported with --to json.")
    if told.get("format_version") != VERSION:
        raise ExportError(
            f"{name} is of format version {told.get('format_version')}; this legbook reads {VERSION}."
        )
    digest = told.pop("digest", None)
    if digest != _digest(told):
        raise ExportError(
            f"{name} was changed after legbook wrote it: its digest does not fit. "
            "Do not rely on it; export the leg again."
        )
    return told


def as_written(told: dict[str, Any]) -> str:
    """The file of these fields, letter for letter."""
    return json.dumps(told | {"digest": _digest(told)}, indent=2, ensure_ascii=False) + "\n"


def schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of the file."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **LegFile.model_json_schema(mode="serialization"),
    }


def _digest(told: dict[str, Any]) -> str:
    text = json.dumps(told, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return sha256(text.encode()).hexdigest()
