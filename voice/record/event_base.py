"""What every event has."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated

from pydantic import AfterValidator, AwareDatetime

from voice.entries.frozen import Frozen


def _in_utc(at: datetime) -> datetime:
    return at.astimezone(UTC)


Instant = Annotated[AwareDatetime, AfterValidator(_in_utc)]
"""A moment, kept in UTC whatever clock it was read from."""


class EventBase(Frozen):
    """Something that happened."""

    at: Instant
    """When the event was written, by the clock that was passed in."""
