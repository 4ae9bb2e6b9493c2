"""Draining in lumps: the drain opened for short times only, and closed for longer in between.

What drains so is not what an open drain at its level would have drained, and says little of the
pressure; the summary shows it for what it is. A lump (common practice, no source) is a time of at
most `LUMP_MIN` between two closings, shorter than the drain was closed before it, in which something
drained. Closing the drain to read a pressure makes no lump of the hour before it, which is longer.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise
from math import fsum
from typing import TYPE_CHECKING

from voice.figures.drain import clamp_periods

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from voice.entries.leg import LegEntry
    from voice.figures.drain import ClampPeriod
    from voice.figures.output import Increment

LUMP_MIN = 15.0
"""The longest time for which the drain is open for a lump, in minutes."""


@dataclass(frozen=True, slots=True)
class Lump:
    """What drained while the drain was open for a short time."""

    opened_at: datetime
    closed_at: datetime
    closed_before_min: float
    """For how long the drain was closed before it."""
    volume_ml: float
    confirmed: bool
    """Whether the closing before and the one after it were confirmed aloud."""

    @property
    def minutes(self) -> float:
        """For how long the drain was open."""
        return (self.closed_at - self.opened_at).total_seconds() / 60


def lumps(entries: Iterable[LegEntry], increments: Sequence[Increment]) -> tuple[Lump, ...]:
    """The lumps in which the leg's output drained; none where there was only one.

    ``increments`` are those of the leg's output. Each is spread evenly over the time for which the
    drain was open within it; what was told while the drain was closed drained before that.
    """
    periods = clamp_periods(entries)
    opened = _open_times(periods)
    volumes = dict.fromkeys(opened, 0.0)
    for increment in increments:
        for when, volume_ml in _spread(increment, opened):
            volumes[when] += volume_ml
    found = []
    for before, after in pairwise(periods):
        assert before.end_at is not None, "only the last period may be open"
        lump = Lump(
            opened_at=before.end_at,
            closed_at=after.start_at,
            closed_before_min=before.minutes(before.end_at),
            volume_ml=volumes[before.end_at, after.start_at],
            confirmed=before.confirmed and after.confirmed,
        )
        if lump.volume_ml and lump.minutes <= LUMP_MIN and lump.minutes < lump.closed_before_min:
            found.append(lump)
    return tuple(found) if len(found) > 1 else ()


_Span = tuple[datetime, datetime]
_BEGINNING = datetime.min.replace(tzinfo=UTC)
_END = datetime.max.replace(tzinfo=UTC)


def _open_times(periods: Sequence[ClampPeriod]) -> list[_Span]:
    """The times between closings, before the first and after the last among them."""
    opened = [_BEGINNING, *(period.end_at or _END for period in periods)]
    closed = [*(period.start_at for period in periods), _END]
    return list(zip(opened, closed, strict=True))


def _spread(increment: Increment, opened: Sequence[_Span]) -> Iterator[tuple[_Span, float]]:
    """The shares of an increment in the open times within it, else all in the one before it."""
    shares = {
        span: (min(increment.end_at, span[1]) - max(increment.start_at, span[0])).total_seconds()
        for span in opened
    }
    shares = {span: seconds for span, seconds in shares.items() if seconds > 0}
    if not shares:
        before = [span for span in opened if span[0] <= increment.end_at]
        shares = dict.fromkeys(before[-1:], 1.0)
    whole = fsum(shares.values())
    for span, seconds in shares.items():
        yield span, increment.volume_ml * seconds / whole
