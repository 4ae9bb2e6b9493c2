"""The leg as one table: a row an entry, and columns that are the same for every leg."""

from __future__ import annotations

from datetime import UTC, datetime
from types import NoneType
from typing import TYPE_CHECKING, Annotated, Any, Literal, NamedTuple, get_args, get_origin

from voice.entries.kinds import Entry
from voice.report.telling import Telling
from voice.report.wording import entry_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from pydantic import BaseModel

    from voice.entries.leg import LegEntry
    from voice.report.export.document import LegDocument

DAMAGED = "the journal is not as it was written: entries may be wrong or missing"
"""Stands among the marks of every entry of a damaged leg, for a table has no other place."""
ColumnType = Literal["text", "whole number", "number", "yes or no", "time"]
Cell = str | int | float | bool | datetime | None


class Column(NamedTuple):
    """One column; a unit stands at the end of its name."""

    name: str
    type: ColumnType
    meaning: str


_ABOUT = (
    Column("leg", "text", "The leg's id."),
    Column("journal_events", "whole number", "How many events the journal had."),
    Column("journal_seal", "text", "Its seal then, as `legbook verify` shows it."),
    Column("entry_number", "whole number", "Counted from 1 in the order in which entries were said."),
    Column("entry_state", "text", "confirmed, reviewed, unconfirmed, corrected or withdrawn."),
    Column("entry_counts", "yes or no", "Whether figures take it: neither corrected nor withdrawn."),
    Column("entry_was_confirmed", "yes or no", "Confirmed aloud, whatever became of it since."),
    Column("entry_replaces", "whole number", "The entry that this one corrects."),
    Column("entry_replaced_by", "whole number", "The entry that corrects this one."),
    Column("entry_marks", "text", "What is marked on it: a doubt, an order it passed (docs/consequences.md), a damaged journal."),
    Column("entry_desk_act", "text", "What was last done to it at the reviewer's desk."),
    Column("entry_desk_by", "text", "By whom."),
    Column("entry_desk_why", "text", "Why."),
    Column("happened_at", "time", "When it happened, in UTC."),
    Column("happened_at_local", "text", "The same by the leg's clock, with its offset from UTC."),
    Column("after_start_s", "number", "The same, counted from the leg's start."),
    Column("spoken_at", "time", "When it was said, in UTC."),
    Column("heard", "text", "The words that were recognised."),
    Column("clip", "text", "The sound clip with them, in the leg's folder."),
    Column("written", "text", "The entry in words."),
    Column("written_down", "text", "What a spoken note says, as a reviewer wrote it down."),
    Column("kind", "text", "The kind of entry; which fields below are filled goes by it."),
)  # fmt: skip


def kinds() -> tuple[type[BaseModel], ...]:
    """Every kind of entry, in the order of the subjects."""
    return get_args(get_args(Entry)[0])


def _fields() -> Iterator[Column]:
    holders: dict[str, list[str]] = {}
    types: dict[str, set[ColumnType]] = {}
    for kind in kinds():
        name = kind.model_fields["kind"].default
        for field, told in kind.model_fields.items():
            if field != "kind":
                holders.setdefault(field, []).append(name)
                types.setdefault(field, set()).update(_types(told.annotation))
    for field, of in holders.items():
        yield Column(field, _common(types[field]), f"Of {', '.join(of)}.")


def _types(annotation: Any) -> Iterator[ColumnType]:
    """The types that the values of a field can have."""
    if get_origin(annotation) is Literal:
        yield from (_type(type(value)) for value in get_args(annotation))
    elif get_origin(annotation) is Annotated:
        yield from _types(get_args(annotation)[0])
    elif args := get_args(annotation):
        yield from (one for arg in args if arg is not NoneType for one in _types(arg))
    else:
        yield _type(annotation)


def _type(of: type) -> ColumnType:
    if of is bool:
        return "yes or no"
    if of is int:
        return "whole number"
    return "number" if of is float else "text"


def _common(types: set[ColumnType]) -> ColumnType:
    if len(types) == 1:
        return next(iter(types))
    return "number" if types == {"whole number", "number"} else "text"


COLUMNS = (*_ABOUT, *_fields())
"""All columns, in their order."""


def rows(document: LegDocument) -> Iterator[dict[str, Cell]]:
    """A row an entry, in the order in which they were said; a column without a value is ``None``."""
    told = Telling(document.leg, document.until)
    for entry in document.leg.entries:
        row = dict(_about(document, told, entry))
        fields = entry.entry.model_dump(mode="json", exclude={"kind"})
        yield {
            c.name: _cell(c, row[c.name] if c in _ABOUT else fields.get(c.name)) for c in COLUMNS
        }


def _about(document: LegDocument, told: Telling, entry: LegEntry) -> Mapping[str, Cell]:
    leg, journal = document.leg, document.journal
    marks = [one.text(told.time) for one in told.marks.get(entry.number, ())]
    if leg.damage:
        marks.append(DAMAGED)
    return {
        "leg": leg.id,
        "journal_events": journal.events if journal else None,
        "journal_seal": journal.seal if journal else None,
        "entry_number": entry.number,
        "entry_state": entry.state.value,
        "entry_counts": entry.counts,
        "entry_was_confirmed": entry.was_confirmed,
        "entry_replaces": entry.replaces,
        "entry_replaced_by": entry.replaced_by,
        "entry_marks": "; ".join(marks) or None,
        "entry_desk_act": entry.desk.act if entry.desk else None,
        "entry_desk_by": str(entry.desk.by) if entry.desk else None,
        "entry_desk_why": entry.desk.why if entry.desk else None,
        "happened_at": entry.happened_at.astimezone(UTC),
        "happened_at_local": leg.local(entry.happened_at).isoformat(),
        "after_start_s": (entry.happened_at - leg.started_at).total_seconds(),
        "spoken_at": entry.spoken_at.astimezone(UTC),
        "heard": entry.heard or None,
        "clip": entry.clip,
        "written": entry_text(entry.entry),
        "written_down": entry.written_down,
        "kind": entry.entry.kind,
    }


def _cell(column: Column, value: Any) -> Cell:
    """The value as its column has it."""
    if value is None or column.type not in {"text", "number"}:
        return value  # type: ignore[no-any-return]
    if column.type == "number":
        return float(value)
    if isinstance(value, list | tuple):
        return "; ".join(map(str, value))
    return str(value)
