"""A leg told without identity: it can be counted with others, and not be traced to a patient.

No name is ever an entry. What could lead to one all the same is taken out: the leg's id, its date,
its clock's offset, the journal's seal, the recognised words, the names of the sound clips, and
every free text. The leg begins on 1 January 2000; times of day and everything between stay as they
were, for the figures by the hour need them.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING, TypeVar

from voice.entries.kinds.drain_care import CatheterPlaced
from voice.entries.leg import DAMAGE
from voice.entries.review import DeskEnd, DeskMark, SignOff

if TYPE_CHECKING:
    from voice.entries.history import EntryTurn
    from voice.entries.leg import Leg, LegEntry, Notice
    from voice.entries.reminder import ReminderTurn
    from voice.entries.review import Reviewer
    from voice.report.export.document import LegDocument

FIRST_DAY = date(2000, 1, 1)
"""The date on which every leg without identity begins."""
_LEG = "leg"
UNTOLD = "not told"
"""Stands for a reviewer's name and reasons."""
_Act = TypeVar("_Act", DeskMark, DeskEnd, SignOff)


def without_identity(document: LegDocument) -> LegDocument:
    """The same leg, with what could lead to the patient left out or moved to another date.

    Its id is made of what is left, so that many legs can stand in one table.
    """
    leg = document.leg
    move = _Move(leg)
    told = document.model_copy(
        update={
            "as_of": move.time(document.as_of),
            "journal": None,
            "leg": leg.model_copy(
                update={
                    "id": _LEG,
                    "settings": leg.settings.model_copy(update={"utc_offset_min": 0}),
                    "started_at": move.time(leg.started_at),
                    "ended_at": leg.ended_at and move.time(leg.ended_at),
                    "desk_end": leg.desk_end and move.act(leg.desk_end),
                    "flown_until": leg.flown_until and move.time(leg.flown_until),
                    "entries": tuple(map(move.entry, leg.entries)),
                    "notices": tuple(map(move.notice, leg.notices)),
                    "reminders": tuple(map(move.reminder, leg.reminders)),
                    "comments": (),
                    "sign_offs": tuple(map(move.act, leg.sign_offs)),
                    "signed": leg.signed and move.act(leg.signed),
                }
            ),
            "history": tuple(map(move.turn, document.history)),
        }
    )
    digest = sha256(told.model_dump_json().encode()).hexdigest()
    named = told.leg.model_copy(update={"id": f"{_LEG}-{digest[:12]}"})
    return told.model_copy(update={"leg": named})


class _Move:
    """Moves everything by the same number of days, and the leg's clock to UTC."""

    def __init__(self, leg: Leg) -> None:
        self._start = leg.local(leg.started_at).date()
        self._days = FIRST_DAY - self._start
        self._offset = timedelta(minutes=leg.settings.utc_offset_min)

    def time(self, at: datetime) -> datetime:
        return at + self._days + self._offset

    def entry(self, entry: LegEntry) -> LegEntry:
        told = entry.entry
        if isinstance(told, CatheterPlaced):
            told = self._catheter(told)
        return entry.model_copy(
            update={
                "entry": told,
                "heard": "",
                "clip": None,
                "written_down": None,
                "comments": (),
                "desk": entry.desk and self.act(entry.desk),
                "spoken_at": self.time(entry.spoken_at),
                "happened_at": self.time(entry.happened_at),
            }
        )

    def _catheter(self, told: CatheterPlaced) -> CatheterPlaced:
        """Its date moved as well; no year was told, so the latest such date before the leg."""
        years = (self._start.year - back for back in range(9))  # the 29th of February included
        dates = (_date(year, told.month, told.day) for year in years)
        placed = next(day for day in dates if day is not None and day <= self._start) + self._days
        return told.model_copy(update={"month": placed.month, "day": placed.day})

    def notice(self, notice: Notice) -> Notice:
        at = self.time(notice.at)
        damaged = notice.text.startswith(DAMAGE)
        text = f"{DAMAGE}what is damaged is not told." if damaged else "The program was in trouble."
        return notice.model_copy(update={"at": at, "text": text})

    def reminder(self, turn: ReminderTurn) -> ReminderTurn:
        key = turn.key.model_copy(update={"since": self.time(turn.key.since)})
        until = turn.until and self.time(turn.until)
        return turn.model_copy(update={"key": key, "at": self.time(turn.at), "until": until})

    def turn(self, turn: EntryTurn) -> EntryTurn:
        by = turn.by and _nameless(turn.by)
        return turn.model_copy(update={"at": self.time(turn.at), "by": by, "why": None})

    def act(self, act: _Act) -> _Act:
        """Something that was done at the desk."""
        told: dict[str, object] = {"at": self.time(act.at), "by": _nameless(act.by)}
        if isinstance(act, DeskMark | DeskEnd):
            told["why"] = UNTOLD
        return act.model_copy(update=told)


def _nameless(reviewer: Reviewer) -> Reviewer:
    return reviewer.model_copy(update={"name": UNTOLD})


def _date(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None
