"""Legs of a few entries, told section by section."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.figures.conftest import START, at, entries
from voice.entries.leg import EntryState, Leg, LegSettings
from voice.report.telling import Telling

if TYPE_CHECKING:
    from voice.entries.kinds import Entry
    from voice.entries.reminder import ReminderTurn


def telling(
    *told: tuple[float, Entry],
    unsure: tuple[int, ...] = (),
    settings: LegSettings | None = None,
    reminders: tuple[ReminderTurn, ...] = (),
    until: float = 60,
) -> Telling:
    """A leg from 14:00 on, with entries by the minute; ``unsure`` are the numbers of unconfirmed ones."""
    state = EntryState.UNCONFIRMED
    found = tuple(
        e.model_copy(update={"state": state}) if e.number in unsure else e for e in entries(*told)
    )
    leg = Leg(
        id="told",
        settings=settings or LegSettings(),
        started_at=START,
        entries=found,
        reminders=reminders,
    )
    return Telling(leg, at(until))
