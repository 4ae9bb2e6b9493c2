"""What every event has, and every event that puts an entry down."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated

from pydantic import AfterValidator, AwareDatetime, Field

from voice.entries.frozen import Frozen
from voice.entries.kinds import Entry


def _in_utc(at: datetime) -> datetime:
    return at.astimezone(UTC)


Instant = Annotated[AwareDatetime, AfterValidator(_in_utc)]
"""A moment, kept in UTC whatever clock it was read from."""


class EventBase(Frozen):
    """Something that happened."""

    at: Instant
    """When the event was written, by the clock that was passed in."""


class PutDown(EventBase):
    """An entry came to be: as it was said, or at the desk."""

    number: int = Field(ge=1)
    entry: Entry
    heard: str
    """The words that were recognised, or that a reviewer chose or typed in their place."""
    spoken_at: Instant
    """When it was said on the leg; when it was put down, where it was not."""
    happened_at: Instant
    """As spoken, or another time where the nurse (`voice.record.times`) or the reviewer said so."""
    replaces: int | None = None
    """Number of the entry that this one corrects."""
    clip: str | None = None
    """Name of the sound with its words."""
