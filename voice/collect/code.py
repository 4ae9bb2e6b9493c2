"""The code by which a leg without identity is known again, and its state with it.

The hash of a leg's first event would tell legs apart, and would tell the day too: it is over a date, a
time and known settings, so that trying every microsecond of some years finds it. So a code is made of
what is sent anyway.
"""

from __future__ import annotations

from datetime import timedelta
from hashlib import sha256
from typing import TYPE_CHECKING

from voice.record.events import Kept, LegEnded, Together

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from voice.entries.leg import Leg
    from voice.record.events import Event

_SHOWN = 12


def leg_code(leg: Leg, events: Iterable[Event]) -> str:
    """The code of a leg, in hexadecimal: the same on every machine that has it, whatever was added since.

    ``leg`` is told without identity; ``events`` are those of its journal. The code is made of the time of day of
    the leg's start and of how long after it the first entry was said, each to the microsecond.
    """
    said_at = _first_said_at(events)
    after = "" if said_at is None else said_at / timedelta(microseconds=1)
    return sha256(f"{leg.started_at.isoformat()} {after}".encode()).hexdigest()


def _first_said_at(events: Iterable[Event]) -> timedelta | None:
    """When the first entry was said, counted from the start; ``None``: none was before the leg ended."""
    started_at: datetime | None = None
    for event in events:
        started_at = started_at or event.at
        if isinstance(event, LegEnded):
            break
        for part in event.parts if isinstance(event, Together) else (event,):
            if isinstance(part, Kept):
                return part.spoken_at - started_at
    return None


def mark(digest: str) -> str:
    """Stands for a journal up to the event with this hash; the hash itself, its seal, would lead to the leg."""
    return sha256(f"legbook collect\n{digest}".encode()).hexdigest()


def short(code: str) -> str:
    """As much of a leg's code as people need to tell legs apart."""
    return code[:_SHOWN]
