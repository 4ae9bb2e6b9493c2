"""What one utterance means: a statement, a correction, or a word to the program itself."""

from __future__ import annotations

from enum import StrEnum
from typing import Literal

from pydantic import Field, model_validator

from voice.entries.frozen import Frozen
from voice.entries.kinds import Entry
from voice.entries.subject import subject_of


class MinutesAgo(Frozen):
    """It happened so many minutes before it was said."""

    form: Literal["minutes_ago"] = "minutes_ago"
    minutes: int = Field(ge=1, le=120)


class ClockTime(Frozen):
    """It happened at this time of day by the leg's clock, at or before it was said."""

    form: Literal["clock_time"] = "clock_time"
    hour: int = Field(ge=0, le=23)
    minute: int = Field(ge=0, le=59)


class Statement(Frozen):
    """An entry, and when it happened where that was said (else: now)."""

    form: Literal["statement"] = "statement"
    entry: Entry
    when: MinutesAgo | ClockTime | None = Field(default=None, discriminator="form")


class Several(Frozen):
    """Two or three entries said in one breath: each about something else, and all of them now.

    No time is said with them: "heart rate eighty eight pressure fourteen five minutes ago" could
    mean that both, or only the second, were then.
    """

    form: Literal["several"] = "several"
    statements: tuple[Statement, ...] = Field(min_length=2, max_length=3)

    @model_validator(mode="after")
    def _each_about_something_else(self) -> Several:
        if any(statement.when is not None for statement in self.statements):
            raise ValueError("no time can be said with several entries")
        if len({subject_of(s.entry) for s in self.statements}) < len(self.statements):
            raise ValueError("two of the entries are about the same thing")
        return self


class Correction(Frozen):
    """The last entry was wrong; this is right."""

    form: Literal["correction"] = "correction"
    statement: Statement


class ConfirmAnd(Frozen):
    """What was read back is right, and here is what comes next, in one breath."""

    form: Literal["confirm_and"] = "confirm_and"
    then: Statement | Several = Field(discriminator="form")


class Talk(StrEnum):
    """The words by which the nurse steers the program."""

    CONFIRM = "confirm"
    NO = "no"
    FIRST = "first"
    SECOND = "second"
    SCRATCH_THAT = "scratch that"
    SAY_AGAIN = "say again"
    READ_LAST = "read last"
    TOTAL_OUT = "total out"
    READ_UNCONFIRMED = "read unconfirmed"
    """Each unconfirmed entry after the other, to be confirmed."""
    NEXT_PART = "next part"
    """Go on with a long answer, or to the next unconfirmed entry."""
    STOP_READING = "stop reading"
    TAKE_NOTE = "take a note"
    REMINDER_NOTED = "reminder noted"
    """The reminder that was said last need not come again."""
    REMIND_LATER = "remind me later"
    """It is to come again, but not now."""
    STAND_BY = "stand by"
    RESUME = "resume"
    START_LEG = "start leg"
    END_LEG = "end leg"
    YES = "yes"
    """Like the next two, within a check only."""
    SKIP = "skip"
    STOP_CHECK = "stop check"


class Command(Frozen):
    """A word to the program itself."""

    form: Literal["command"] = "command"
    talk: Talk
    minutes: int | None = Field(default=None, ge=1, le=24 * 60)
    """How much later, where that was said."""


class Choice(Frozen):
    """The value itself, said digit by digit, as the answer to "one five, or five zero?"."""

    form: Literal["choice"] = "choice"
    value: float


class StartCheck(Frozen):
    """A check by voice is to begin."""

    form: Literal["check"] = "check"
    check: str
    """Name of its list."""


class About(StrEnum):
    """What can be asked about the leg."""

    LAST_ENTRY = "last_entry"
    LAST_VALUE = "last_value"
    """The latest of one subject: "last sodium"."""
    TIME_SINCE = "time_since"
    """How long ago the latest of one subject was."""
    TREND = "trend"
    """How one subject ran over the last minutes, or over the leg."""
    TOTAL_OUTPUT = "total_output"
    HOURLY_OUTPUT = "hourly_output"
    OUTPUT_AND_ORDER = "output_and_order"
    ORDER = "order"
    """What is ordered for the drain."""
    PERFUSION_NOW = "perfusion_now"
    UNCONFIRMED = "unconfirmed"
    WHAT_IS_LEFT = "what_is_left"
    """What a handoff still lacks, and what is still open."""
    REPORT = "report"
    """The whole leg, told part by part."""


class Question(Frozen):
    """Something that is asked about the leg: it is answered aloud, and nothing is written."""

    form: Literal["question"] = "question"
    about: About
    subject: str | None = None
    """What is asked for, by the name with which it is read back: "sodium"."""
    minutes: int | None = Field(default=None, ge=1, le=24 * 60)
    """Over which time back from now; ``None`` for the whole leg."""


Meaning = Statement | Several | Correction | ConfirmAnd | Command | Choice | Question | StartCheck
"""What one whole utterance means; each has a ``form``."""
