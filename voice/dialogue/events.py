"""What can happen to the talk."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, ClassVar

from voice.entries.said import (
    Choice,
    Command,
    ConfirmAnd,
    Correction,
    Question,
    Several,
    StartCheck,
    Statement,
    Talk,
)
from voice.meaning.decision import Accept, AskBetween, Decision, Heard, NotForUs

if TYPE_CHECKING:
    from voice.entries.reminder import ReminderKey
    from voice.meaning.unfinished import Lacks


class Kind(StrEnum):
    """Kinds of events besides the commands, each of which is a kind of its own (``Talk``)."""

    STATEMENT = "an entry"
    SEVERAL = "several entries in one breath"
    CORRECTION = "correction …"
    QUESTION = "a question"
    CHECK = "check …"
    CHOICE = "the value itself"
    TWO_READINGS = "two readings"
    UNCLEAR = "not understood"
    OTHER_SPEECH = "not for us"
    HALF = "half a phrase, and no rest"
    WHOLE = "the whole of what was kept in part"
    SAID_OVER = "anything else, over our own words"
    NOTE = "the note's sound"
    FELL_SILENT = "our own words end"
    TIME_PASSED = "time passes"
    MUTE = "our words are lost"
    TROUBLE = "trouble"
    REMINDER = "something is due"


@dataclass(frozen=True, slots=True)
class StatementHeard:
    """An entry was said."""

    kind: ClassVar[Kind] = Kind.STATEMENT
    text: str
    statement: Statement


@dataclass(frozen=True, slots=True)
class SeveralHeard:
    """Two or three entries were said in one breath."""

    kind: ClassVar[Kind] = Kind.SEVERAL
    text: str
    statements: tuple[Statement, ...]


@dataclass(frozen=True, slots=True)
class CorrectionHeard:
    """An entry was said in place of an earlier one."""

    kind: ClassVar[Kind] = Kind.CORRECTION
    text: str
    statement: Statement


@dataclass(frozen=True, slots=True)
class CommandHeard:
    """A word to the program was said."""

    talk: Talk
    minutes: int | None = None
    """How much later, where that was said."""

    @property
    def kind(self) -> Talk:
        """Each command has a column of its own."""
        return self.talk


@dataclass(frozen=True, slots=True)
class QuestionHeard:
    """Something was asked about the leg."""

    kind: ClassVar[Kind] = Kind.QUESTION
    question: Question


@dataclass(frozen=True, slots=True)
class CheckHeard:
    """A check was asked for, by the name of its list."""

    kind: ClassVar[Kind] = Kind.CHECK
    check: str


@dataclass(frozen=True, slots=True)
class ChoiceHeard:
    """A bare value was said, as the answer to a question."""

    kind: ClassVar[Kind] = Kind.CHOICE
    value: float


@dataclass(frozen=True, slots=True)
class TwoHeard:
    """One of two things was said."""

    kind: ClassVar[Kind] = Kind.TWO_READINGS
    first: Heard
    second: Heard


@dataclass(frozen=True, slots=True)
class ConfirmAndHeard:
    """What was read back was confirmed and, in one breath, more was said: it happens as the one and then the other."""

    then: StatementHeard | SeveralHeard | TwoHeard


@dataclass(frozen=True, slots=True)
class SpeechUnclear:
    """Something was said to the program and could not be made out."""

    kind: ClassVar[Kind] = Kind.UNCLEAR


@dataclass(frozen=True, slots=True)
class OtherSpeech:
    """Something was said to somebody else."""

    kind: ClassVar[Kind] = Kind.OTHER_SPEECH


@dataclass(frozen=True, slots=True)
class HalfHeard:
    """A phrase broke off, and its rest has not come."""

    kind: ClassVar[Kind] = Kind.HALF
    text: str
    lacks: Lacks
    given_up: bool = False
    """Whether something else has been said since, so that no rest is waited for any more."""


@dataclass(frozen=True, slots=True)
class WholeHeard:
    """What was kept last was a part of this: more was said after a pause."""

    kind: ClassVar[Kind] = Kind.WHOLE
    text: str
    statements: tuple[Statement, ...]


@dataclass(frozen=True, slots=True)
class SaidOver:
    """Something was said to the program while it spoke, and is not taken."""

    kind: ClassVar[Kind] = Kind.SAID_OVER
    text: str


@dataclass(frozen=True, slots=True)
class NoteHeard:
    """The sound of a free note is complete."""

    kind: ClassVar[Kind] = Kind.NOTE


@dataclass(frozen=True, slots=True)
class FellSilent:
    """The program's own words and tones have ended: from now on it waits."""

    kind: ClassVar[Kind] = Kind.FELL_SILENT


@dataclass(frozen=True, slots=True)
class TimePassed:
    """Nothing happened, and nobody is speaking."""

    kind: ClassVar[Kind] = Kind.TIME_PASSED


@dataclass(frozen=True, slots=True)
class Mute:
    """The program's words could not be spoken: whatever they were, the nurse did not hear them."""

    kind: ClassVar[Kind] = Kind.MUTE


@dataclass(frozen=True, slots=True)
class Trouble:
    """The program itself is in trouble, or out of it again; a whole sentence to be spoken."""

    kind: ClassVar[Kind] = Kind.TROUBLE
    sentence: str


@dataclass(frozen=True, slots=True)
class Reminder:
    """Something was not told for so long that it has to be said."""

    kind: ClassVar[Kind] = Kind.REMINDER
    key: ReminderKey
    sentence: str
    """Whole, and as it is spoken."""


Event = (
    StatementHeard
    | SeveralHeard
    | CorrectionHeard
    | CommandHeard
    | QuestionHeard
    | CheckHeard
    | ChoiceHeard
    | TwoHeard
    | ConfirmAndHeard
    | SpeechUnclear
    | OtherSpeech
    | HalfHeard
    | WholeHeard
    | SaidOver
    | NoteHeard
    | FellSilent
    | TimePassed
    | Mute
    | Trouble
    | Reminder
)


def heard_as_event(heard: Heard) -> Event:  # noqa: PLR0911 - one for each form of meaning
    """One reading as the event that it is."""
    match heard.meaning:
        case Statement() as statement:
            return StatementHeard(heard.text, statement)
        case Several(statements=statements):
            return SeveralHeard(heard.text, statements)
        case Correction(statement=statement):
            return CorrectionHeard(heard.text, statement)
        case ConfirmAnd(then=then):
            return ConfirmAndHeard(
                StatementHeard(heard.text, then)
                if isinstance(then, Statement)
                else SeveralHeard(heard.text, then.statements)
            )
        case Command(talk=talk, minutes=minutes):
            return CommandHeard(talk, minutes)
        case Question() as question:
            return QuestionHeard(question)
        case StartCheck(check=check):
            return CheckHeard(check)
        case Choice(value=value):
            return ChoiceHeard(value)


def decision_as_event(decision: Decision) -> Event:
    """What hearing decided, as the event that it is."""
    match decision:
        case Accept(heard=heard):
            return heard_as_event(heard)
        case AskBetween(
            first=Heard(meaning=ConfirmAnd(then=one)) as first,
            second=Heard(meaning=ConfirmAnd(then=other)) as second,
        ):
            two = (Heard(text=first.text, meaning=one), Heard(text=second.text, meaning=other))
            return ConfirmAndHeard(TwoHeard(*two))
        case AskBetween(first=first, second=second):
            return TwoHeard(first, second)
        case NotForUs():
            return OtherSpeech()
        case _:
            return SpeechUnclear()
