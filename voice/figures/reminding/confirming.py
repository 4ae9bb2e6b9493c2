"""What there is to be reminded of about entries that nobody confirmed."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from voice.entries.leg import EntryState
from voice.figures.reminding.rule import Cause

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.entries.leg import Leg

UNCONFIRMED = timedelta(minutes=10)
"""How long after the last entry that stayed unconfirmed it is told (common practice, no source: by
then the hands have a pause)."""


def unconfirmed(leg: Leg) -> Iterator[Cause]:
    """Entries that wait, from the latest of them on: another one makes it another matter."""
    waiting = [one for one in leg.entries if one.state is EntryState.UNCONFIRMED]
    if waiting:
        since = max(one.spoken_at for one in waiting)
        entries = "1 entry" if len(waiting) == 1 else f"{len(waiting)} entries"
        yield Cause(since, since + UNCONFIRMED, values={"entries": entries})
