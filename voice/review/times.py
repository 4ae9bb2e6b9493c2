"""When something happened, as a reviewer types it."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta, timezone
from typing import TYPE_CHECKING

from voice.review.typed import TypedError

if TYPE_CHECKING:
    from voice.entries.leg import Leg

BEFORE = timedelta(hours=12)
"""How long before the leg's start something may have happened that is told on it: as far back as a
clock time can be said (`voice.record.times`)."""

_CLOCK = re.compile(r"([0-9]{1,2}):([0-9]{2})(?::([0-9]{2}))?")
_DAY = timedelta(days=1)


def moment(text: str, near: datetime, leg: Leg, now: datetime) -> datetime:
    """The moment that is typed: a time of day by the leg's clock, nearest to ``near``; or ISO 8601.

    Raises:
        TypedError: where it is none, is still to come, or was long before the leg.
    """
    at = _clock_time(text.strip(), near, leg.settings.zone) or _iso(text.strip(), leg.settings.zone)
    if at is None:
        raise TypedError("Type a time like 14:05 by the leg's clock.")
    if leg.ended_at is None and at > now:
        raise TypedError(f"{leg.local(at):%d %B %H:%M} is still to come.")
    if at < leg.started_at - BEFORE:
        raise TypedError(f"{leg.local(at):%d %B %H:%M} is long before the leg began.")
    if leg.ended_at is not None and at > leg.ended_at:
        raise TypedError(f"The leg had ended at {leg.local(leg.ended_at):%H:%M} already.")
    return at


def _clock_time(text: str, near: datetime, zone: timezone) -> datetime | None:
    told = _CLOCK.fullmatch(text)
    if told is None:
        return None
    hour, minute, second = (int(part or 0) for part in told.groups())
    try:
        that_day = near.astimezone(zone).replace(
            hour=hour, minute=minute, second=second, microsecond=0
        )
    except ValueError:
        return None
    days = (that_day - _DAY, that_day, that_day + _DAY)
    return min(days, key=lambda day: abs(day - near)).astimezone(UTC)


def _iso(text: str, zone: timezone) -> datetime | None:
    try:
        at = datetime.fromisoformat(text)
        return (at if at.tzinfo else at.replace(tzinfo=zone)).astimezone(zone).astimezone(UTC)
    except (ValueError, OverflowError):  # in another zone it may lie before the first year
        return None
