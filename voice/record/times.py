"""When something happened, from what the nurse said about it."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

from voice.entries.said import ClockTime, MinutesAgo
from voice.meaning.numbers import clock_words
from voice.record.errors import EventRefusedError

WATCH_TOLERANCE = timedelta(minutes=5)
"""How far ahead of our clock the nurse's watch may be before a clock time is refused.

Common practice, no source: two clocks in one cabin are seldom set to the minute.
"""

_DAY = timedelta(days=1)
_HALF_A_DAY = _DAY / 2


def happened_at(
    when: MinutesAgo | ClockTime | None, spoken_at: datetime, zone: timezone
) -> datetime:
    """The moment that is meant: never later than ``spoken_at`` (aware), at most half a day before.

    ``zone`` is the leg's clock. A clock time is its occurrence nearest to ``spoken_at``; one up to
    `WATCH_TOLERANCE` ahead is taken as now.

    Raises:
        EventRefusedError: where the clock time is still to come: it was misheard, or said wrongly.
            Filed under yesterday it would be wrong by a day, and nobody would hear that.
    """
    if when is None:
        return spoken_at
    if isinstance(when, MinutesAgo):
        return spoken_at - timedelta(minutes=when.minutes)
    that_day = spoken_at.astimezone(zone).replace(
        hour=when.hour, minute=when.minute, second=0, microsecond=0
    )
    ahead = (that_day - spoken_at) % _DAY
    if ahead <= WATCH_TOLERANCE:
        return spoken_at
    if ahead <= _HALF_A_DAY:
        raise EventRefusedError(
            f"The time {clock_words(when.hour, when.minute)} is still to come: "
            "nothing kept; say it again."
        )
    return spoken_at + ahead - _DAY
