"""What the talk asks to be done, in this order; ``session`` does it.

All that one step asks to be written to the journal (``Record``) is written as one, or none of it.
Where it cannot be written, the step has not happened: the state before it stands, and nothing is
said of it. More than one record is asked for only where several entries are kept, confirmed or
withdrawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from voice.entries.reminder import ReminderKey
    from voice.entries.said import Question, Statement


class Tone(StrEnum):
    """Short sounds that need no words."""

    HEARD = "heard"
    """I listen; go on."""
    NOT_UNDERSTOOD = "not understood"
    KEPT = "kept"
    TROUBLE = "trouble"


@dataclass(frozen=True, slots=True)
class Sound:
    """Play a tone."""

    tone: Tone


@dataclass(frozen=True, slots=True)
class Say:
    """Speak."""

    text: str


@dataclass(frozen=True, slots=True)
class Answer:
    """Speak the answer to a question about the leg, as it stands now."""

    question: Question
    part: int = 0
    """Which part of a long answer; what comes after the last is that there is no more."""


@dataclass(frozen=True, slots=True)
class When:
    """Speak the time of day at which an entry happened."""

    number: int


@dataclass(frozen=True, slots=True)
class Remark:
    """Speak what has to be said because this entry has just been kept, if anything has to."""

    number: int


@dataclass(frozen=True, slots=True)
class StartLeg:
    """Begin the journal of a new leg."""


@dataclass(frozen=True, slots=True)
class Keep:
    """Write an entry down, as unconfirmed.

    A free note (``SpokenNote``) is kept with its sound. Where ``replaces`` names the entry that
    this one corrects and no time was said, it happened when the corrected one did.
    """

    number: int
    text: str
    statement: Statement
    replaces: int | None = None


@dataclass(frozen=True, slots=True)
class Confirm:
    """Mark an entry as confirmed."""

    number: int


@dataclass(frozen=True, slots=True)
class Withdraw:
    """Take an entry away; the one that it corrected, if any, stands again."""

    number: int
    why: str
    """The words that took it away."""


@dataclass(frozen=True, slots=True)
class Remind:
    """Note what became of a reminder: it was said, or answered."""

    key: ReminderKey
    became: Literal["said", "acknowledged", "postponed"]
    text: str
    """The sentence that is said; else the words by which it was answered."""
    minutes: int | None = None
    """By how much it was postponed."""


@dataclass(frozen=True, slots=True)
class EndLeg:
    """The leg is over."""


Record = StartLeg | Keep | Confirm | Withdraw | Remind | EndLeg
Action = Record | Sound | Say | Answer | When | Remark
