"""When something happened, from what the nurse said about it."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

from voice.entries.said import ClockTime, MinutesAgo

WATCH_TOLERANCE = timedelta(minutes=5)
"""How far ahead of our clock the nurse's watch may be before a clock time means yesterday's.

Common practice, no source: two clocks in one cabin are seldom set to the minute. Without it, "at
fourteen twenty" said by a watch one minute fast would be filed a whole day early.
"""

_DAY = timedelta(days=1)


def happened_at(
    when: MinutesAgo | ClockTime | None, spoken_at: datetime, zone: timezone
) -> datetime:
    """The moment that is meant: never later than ``spoken_at`` (aware), less than a day before it.

    ``zone`` is the leg's clock. A clock time is its latest occurrence at or before ``spoken_at``;
    one up to `WATCH_TOLERANCE` ahead is taken as now.
    """
    if when is None:
        return spoken_at
    if isinstance(when, MinutesAgo):
        return spoken_at - timedelta(minutes=when.minutes)
    that_day = spoken_at.astimezone(zone).replace(
        hour=when.hour, minute=when.minute, second=0, microsecond=0
    )
    ahead = (that_day - spoken_at) % _DAY
    return spoken_at if ahead <= WATCH_TOLERANCE else spoken_at + ahead - _DAY
