"""What a row of the table of reminders is: a cause, when it is due, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from datetime import datetime

    from voice.entries.leg import Leg
    from voice.entries.reminder import ReminderKey

AGAIN_MIN = 10
"""After how many minutes a reminder that nobody answered is said once more (common practice, no
source)."""


@dataclass(frozen=True, slots=True)
class Cause:
    """One time over which there is something to be reminded of."""

    since: datetime
    due_at: datetime
    until: datetime | None = None
    """When it was over; ``None`` while nothing that was told ends it."""
    about: str | None = None
    values: Mapping[str, str] = field(default_factory=dict)
    """What the sentence of its row has to be filled with, besides ``minutes`` and ``hours``."""

    def due(self, now: datetime) -> bool:
        """Whether it is due and not over."""
        return self.due_at <= now and (self.until is None or now < self.until)


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of the table.

    The sentence stands in brackets of the kind ``{limit}`` for what a cause's ``values`` hold,
    ``{minutes}`` and ``{hours}`` for how long ago it began, in whole ones. Numbers are written in
    figures: who speaks them does so digit by digit. It tells what was told and asks; it orders
    nothing.
    """

    name: str
    """Also spoken, when it is acknowledged or postponed."""
    causes: Callable[[Leg], Iterable[Cause]]
    starts: str
    """In words, as ``due``, ``ends`` and ``source`` are: the drawn table shows them."""
    due: str
    ends: str
    says: str
    source: str
    again_min: tuple[int, ...] = (AGAIN_MIN,)
    """How many minutes after it was first said it is said again, as long as nobody answers."""
    urgent: bool = False
    """Whether it comes in between, while an answer is waited for and while standing by."""


@dataclass(frozen=True, slots=True)
class Reminder:
    """Something that is to be said now."""

    key: ReminderKey
    text: str
    """A short sentence. Numbers and units are written in figures; see ``voice.meaning.aloud``."""
    urgent: bool
