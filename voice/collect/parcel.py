"""What is sent of one leg: rows for the database, without identity, and no sound.

Everything is worked out here, by the figures that the summary of the leg shows; the database only
adds up. So a figure across legs can not be reckoned in another way than that of one leg.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib.metadata import version
from itertools import chain as joined
from typing import TYPE_CHECKING

from voice.collect.code import leg_code, mark
from voice.collect.errors import CollectError
from voice.figures.consequences.table import TABLE
from voice.figures.drain import clamp_periods
from voice.record.desk_events import MISHEARD, MISSED, DeskEntry
from voice.record.events import LegStarted
from voice.report.export.document import LegDocument
from voice.report.export.identity import without_identity
from voice.report.export.table import COLUMNS, kinds, rows
from voice.training.phrases.misheard import PERSONAL, confusions

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from voice.entries.leg import Leg
    from voice.record.reading import Chain
    from voice.report.export.table import Cell

_FIELDS = frozenset(joined.from_iterable(kind.model_fields for kind in kinds())) - {"kind"}
_NOT_SENT = frozenset(
    {
        "leg", "journal_events", "journal_seal", "happened_at_local", "heard", "clip",
        "written_down", "entry_desk_by", "entry_desk_why", "diagnosis",
    }
)  # fmt: skip
ENTRY_COLUMNS = tuple(column for column in COLUMNS if column.name not in _NOT_SENT)
"""Those columns of an export's table that are sent of each entry; docs/export-columns.md tells of them."""

OTHER = "other"
"""Stands for a reason that a reviewer wrote in words of his own."""


@dataclass(frozen=True)
class Parcel:
    """A leg as it is sent."""

    code: str
    """Which leg it is (`voice.collect.code`)."""
    marks: tuple[str, ...]
    """One for the chain after each of its events; the last one stands for all of it."""
    about: Mapping[str, Cell]
    """The row of the leg."""
    tables: Mapping[str, tuple[Mapping[str, Cell], ...]]
    """The rows of the other tables, by table."""


def parcel(leg: Leg, chain: Chain, *, unsealed: bool = False) -> Parcel:
    """What is sent of a leg and its whole chain; ``unsealed``: also where it may still change.

    Raises:
        CollectError: where the leg is not as it was written, has not ended, or is not sealed.
    """
    if chain.findings:
        raise CollectError(
            f"It is not as it was written, so it was not sent: {chain.findings[0]} "
            f"See: legbook verify {leg.id}"
        )
    if leg.ended_at is None:
        raise CollectError(
            f"It has not ended, so it was not sent. Say when it was over with: legbook end {leg.id}"
        )
    if not (chain.replay.sealed or unsealed):
        raise CollectError(
            "It is not sealed, so it was not sent: it may still change. Seal it with: "
            f"legbook seal {leg.id}; or send it as it stands, with --unsealed."
        )
    told = nameless(leg, chain)
    return Parcel(
        code=leg_code(told.leg, chain.events),
        marks=tuple(mark(row.hash) for row in chain.rows),
        about=dict(_about(told.leg, chain)),
        tables={
            "entry": tuple(_entries(told, chain)),
            "clamp_period": tuple(_clamp_periods(told.leg)),
            "state_spell": tuple(_states(told.leg)),
            "reminder_turn": tuple(_reminders(told.leg)),
            "confusion": tuple(_confusions(leg, chain)),
        },
    )


def nameless(leg: Leg, chain: Chain) -> LegDocument:
    """The leg without identity, as far as its chain tells it."""
    return without_identity(
        LegDocument(
            program_version=version("legbook"),
            as_of=chain.events[-1].at,
            journal=None,
            leg=leg,
            history=(),
        )
    )


def _about(leg: Leg, chain: Chain) -> Iterator[tuple[str, Cell]]:
    started = chain.events[0]
    assert isinstance(started, LegStarted)
    yield "program_version", started.program_version
    yield "grammar_digest", started.grammar_digest
    yield "model_digest", started.model_digest
    yield "pressure_unit", leg.settings.pressure_unit
    yield "started_at", leg.started_at
    yield "ended_at", leg.ended_at
    yield "sealed", chain.replay.sealed
    yield "signed", leg.signed is not None
    yield "may_teach", leg.signed is not None and leg.signed.may_teach
    yield "not_understood", leg.not_understood
    yield "passed_over", leg.passed_over


def _entries(document: LegDocument, chain: Chain) -> Iterator[dict[str, Cell]]:
    at_desk = {event.number: event for event in chain.events if isinstance(event, DeskEntry)}
    names = [column.name for column in ENTRY_COLUMNS]
    for row in rows(document):
        personal = row["kind"] in PERSONAL
        by_desk = at_desk.get(int(str(row["entry_number"])))
        yield {
            name: None if personal and (name in _FIELDS or name == "written") else row[name]
            for name in names
        } | {"put_down_by": "desk" if by_desk else "voice", "desk_reason": _reason(by_desk)}


def _reason(act: DeskEntry | None) -> str | None:
    """Why an entry was put down at the desk, as far as it can be counted and tells of nobody."""
    if act is None:
        return None
    return act.why if act.why in {MISHEARD, MISSED} else OTHER


def _clamp_periods(leg: Leg) -> Iterator[dict[str, Cell]]:
    for number, period in enumerate(clamp_periods(leg.entries), 1):
        yield {
            "period_number": number,
            "start_at": period.start_at,
            "end_at": period.end_at,
            "reason": period.reason,
            "confirmed": period.confirmed,
        }


def _states(leg: Leg) -> Iterator[dict[str, Cell]]:
    for rule in TABLE:
        for number, spell in enumerate(rule.spells(leg), 1):
            yield {
                "rule": rule.name,
                "spell_number": number,
                "since": spell.since,
                "until": spell.until,
                "entry_number": spell.number,
            }


def _reminders(leg: Leg) -> Iterator[dict[str, Cell]]:
    for number, turn in enumerate(leg.reminders, 1):
        yield {
            "turn_number": number,
            "rule": turn.key.rule,
            "became": turn.became,
            "at": turn.at,
        }


def _confusions(leg: Leg, chain: Chain) -> Iterator[dict[str, Cell]]:
    """Only where the reviewer who signed the leg off lets it be told, as to the trainer."""
    if leg.signed is None or not leg.signed.may_teach:
        return
    for number, (meant, heard) in enumerate(confusions(chain.events, leg), 1):
        yield {"confusion_number": number, "meant": meant, "heard": heard or None}
