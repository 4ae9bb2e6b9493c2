"""The latest: of all entries, or of one subject."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.leg import EntryState
from voice.meaning.numbers import clock_words
from voice.meaning.readback import read_back

if TYPE_CHECKING:
    from datetime import datetime

    from voice.entries.leg import Leg
    from voice.entries.said import Question


def last_entry(_: Question, leg: Leg, __: datetime) -> tuple[str, ...]:
    """The entry that was said last, whenever it happened."""
    counting = [entry for entry in leg.entries if entry.counts]
    if not counting:
        return ("nothing kept yet",)
    last = counting[-1]
    happened_at = leg.local(last.happened_at)
    parts = ["last", read_back(last.entry, leg.settings)]
    if last.state is EntryState.UNCONFIRMED:
        parts.append("unconfirmed")
    parts.append(f"at {clock_words(happened_at.hour, happened_at.minute)}")
    return (", ".join(parts),)
