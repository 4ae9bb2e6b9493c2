"""What one utterance means: a statement, a correction, or a word to the program itself."""

from __future__ import annotations

from enum import StrEnum
from typing import Literal

from pydantic import Field

from voice.entries.frozen import Frozen
from voice.entries.kinds import Entry


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


class Correction(Frozen):
    """The last entry was wrong; this is right."""

    form: Literal["correction"] = "correction"
    statement: Statement


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
    TAKE_NOTE = "take a note"
    STAND_BY = "stand by"
    RESUME = "resume"
    START_LEG = "start leg"
    END_LEG = "end leg"


class Command(Frozen):
    """A word to the program itself."""

    form: Literal["command"] = "command"
    talk: Talk


class Choice(Frozen):
    """The value itself, said digit by digit, as the answer to "one five, or five zero?"."""

    form: Literal["choice"] = "choice"
    value: float


Meaning = Statement | Correction | Command | Choice
"""What one whole utterance means; each has a ``form``."""
