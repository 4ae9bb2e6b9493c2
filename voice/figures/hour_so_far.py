"""How a clock hour fills with what drains: so far, at which rate, and by its end at that rate."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from voice.figures.output import Increment

RATE_FROM = timedelta(minutes=15)
"""How much of an hour must have been covered before it has a rate (common practice, no source)."""

_HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class HourSoFar:
    """What had drained in an hour up to a moment that was told."""

    at: datetime
    volume_ml: float
    covered: timedelta
    """The part of the hour over which it drained."""

    @property
    def ml_per_hour(self) -> float | None:
        """The rate; ``None`` where less than `RATE_FROM` is covered."""
        return self.volume_ml * (_HOUR / self.covered) if self.covered >= RATE_FROM else None

    def projected_ml(self, hour: datetime) -> float:
        """What drains in the whole hour if it goes on as it did; what was told, where that is soon.

        ``hour`` is its start.
        """
        if self.covered < RATE_FROM:
            return self.volume_ml
        return self.volume_ml * (1 + (hour + _HOUR - self.at) / self.covered)


def filled(increments: Iterable[Increment], hour: datetime) -> list[HourSoFar]:
    """How the hour that starts at ``hour`` filled, from one telling to the next.

    ``increments`` are those of the leg's output, in order.
    """
    found: list[HourSoFar] = []
    volume_ml, covered = 0.0, timedelta()
    for part in increments:
        since, at = max(part.start_at, hour), min(part.end_at, hour + _HOUR)
        length = part.end_at - part.start_at
        if since > at or (length and since == at):
            continue  # it drained in other hours
        volume_ml += part.volume_ml * ((at - since) / length if length else 1)
        covered += at - since
        if volume_ml > 0:
            found.append(HourSoFar(at, round(volume_ml, 6), covered))
    return found
