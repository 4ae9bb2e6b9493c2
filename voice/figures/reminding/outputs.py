"""What there is to be reminded of about the output of this hour."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from voice.entries.kinds.order import OrderHourlyLimit
from voice.figures.consequences.outputs import hourly_limit_ml
from voice.figures.consequences.runs import counting
from voice.figures.hour_so_far import filled
from voice.figures.once import once
from voice.figures.output import output_of
from voice.figures.reminding.rule import Cause
from voice.figures.rounding import beside

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from voice.entries.leg import Leg
    from voice.figures.hour_so_far import HourSoFar

NEAR = 0.8
"""From which part of the ordered limit on the output is near it (common practice, no source)."""

REACHED = timedelta(minutes=5)
"""How long after it was told, with the entry, that the limit is reached it is told again (common
practice, no source)."""

_HOUR = timedelta(hours=1)


def output_near(leg: Leg) -> Iterator[Cause]:
    """Each hour in which the output comes near the ordered limit, until it reaches it.

    Near is `NEAR` of it, or less that would reach it before the hour is over; then it is said to be
    a projection.
    """
    for hour, limit_ml, stands in _hours(leg):
        for stand in stands:
            if stand.volume_ml >= limit_ml:
                break  # it is reached, and that is another matter
            is_near = stand.volume_ml >= NEAR * limit_ml
            projected_ml = stand.projected_ml(hour)
            if is_near or projected_ml >= limit_ml:
                reached = (one.at for one in stands if one.volume_ml >= limit_ml)
                projection = (
                    ""
                    if is_near
                    else f", projected at this rate {_whole_ml(projected_ml, limit_ml)}"
                )
                values = {
                    "volume": f"{_whole_ml(stand.volume_ml, limit_ml)}{projection}",
                    "limit": f"{limit_ml:g} mL",
                }
                yield Cause(hour, stand.at, next(reached, hour + _HOUR), values=values)
                break


def output_reached(leg: Leg) -> Iterator[Cause]:
    """Each hour in which the output reached the ordered limit, until the hour is over."""
    for hour, limit_ml, stands in _hours(leg):
        for stand in [one for one in stands if one.volume_ml >= limit_ml][:1]:
            volume = _whole_ml(stands[-1].volume_ml, limit_ml)
            values = {"volume": volume, "limit": f"{limit_ml:g} mL"}
            yield Cause(hour, stand.at + REACHED, hour + _HOUR, values=values)


def _whole_ml(volume_ml: float, limit_ml: float) -> str:
    """Without decimals where that leaves it on its side of the limit."""
    return f"{beside(volume_ml, 0, [limit_ml]):g} mL"


@once
def _hours(leg: Leg) -> tuple[tuple[datetime, float, list[HourSoFar]], ...]:
    """Each clock hour in which something drained, its ordered limit in mL, and how it filled."""
    orders = counting(leg, OrderHourlyLimit)
    if not orders:
        return ()
    figures = output_of(leg)
    return tuple(
        (hour, hourly_limit_ml(orders, hour), filled(figures.increments, hour))
        for hour, _ in figures.by_hour
    )
