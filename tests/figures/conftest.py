from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from voice.entries.leg import EntryState, LegEntry

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

START = datetime(2026, 5, 1, 14, 0, tzinfo=UTC)


def at(minutes: float) -> datetime:
    """So many minutes after the leg's start at 14:00."""
    return START + timedelta(minutes=minutes)


def entries(
    *told: tuple[float, Entry], state: EntryState = EntryState.CONFIRMED
) -> tuple[LegEntry, ...]:
    """Entries by the minute at which they happened, numbered as they are given."""
    return tuple(
        LegEntry(
            number=number,
            entry=entry,
            heard="",
            spoken_at=at(minute),
            happened_at=at(minute),
            state=state,
        )
        for number, (minute, entry) in enumerate(told, 1)
    )
