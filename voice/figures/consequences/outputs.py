"""When what drains, is flushed in or is emptied has consequences."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from voice.entries.kinds.drain import ChamberEmptied, Flushed, StopcockClosed
from voice.entries.kinds.order import OrderFlushLimit, OrderHourlyLimit
from voice.figures.consequences.rule import Spell
from voice.figures.consequences.runs import counting
from voice.figures.hour_so_far import filled
from voice.figures.output import output_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import datetime

    from voice.entries.leg import Leg, LegEntry
    from voice.figures.hour_so_far import HourSoFar
    from voice.figures.output import Increment

USUAL_FLUSHES = 2
"""How many flushes pass unasked where no limit was ordered (common practice, no source)."""

_HOUR = timedelta(hours=1)


def way_to_bag_open(leg: Leg) -> Iterator[Spell]:
    """The chamber was emptied, and "stopcock closed" was not said.

    Said for the same moment it counts, whichever came first. Another emptying starts anew; then the
    first one keeps its mark.
    """
    told = counting(leg, ChamberEmptied, StopcockClosed)
    emptied = [e for e in told if isinstance(e.entry, ChamberEmptied)]
    closed = [e.happened_at for e in told if isinstance(e.entry, StopcockClosed)]
    for one in emptied:
        since = one.happened_at
        again = [e.happened_at for e in emptied if e.happened_at > since][:1]
        until = min([at for at in closed if at >= since] + again, default=None)
        kept_open = until is None or until not in closed
        yield Spell(since, until, one.number, marked=(one.number,) if kept_open else ())


def flushed_too_often(leg: Leg) -> Iterator[Spell]:
    """Each flush beyond those that were ordered; beyond the usual where none were."""
    orders = counting(leg, OrderFlushLimit)
    allowed, limit = USUAL_FLUSHES, f"without an order, usual are {USUAL_FLUSHES}"
    for order in orders[-1:]:
        assert isinstance(order.entry, OrderFlushLimit)
        allowed = order.entry.count
        limit = f"the order allows {allowed}"
    flushes = counting(leg, Flushed)
    for count, one in enumerate(flushes[allowed:], allowed + 1):
        values = {"count": str(count), "limit": limit}
        yield Spell(one.happened_at, None, one.number, values, (one.number,))


def hour_at_limit(leg: Leg) -> Iterator[Spell]:
    """Each clock hour in which as much drained as was ordered at most, or more.

    It holds until the hour is over.
    """
    orders = counting(leg, OrderHourlyLimit)
    if not orders:
        return
    for hour, volume_ml in output_of(leg).by_hour:
        limit_ml = hourly_limit_ml(orders, hour)
        if round(volume_ml, 6) >= limit_ml:
            yield Spell(hour, hour + _HOUR, None, {"limit": f"{limit_ml:g} mL"})


def reached_meanwhile(
    orders: list[LegEntry], increments: Iterable[Increment], hour: datetime
) -> tuple[HourSoFar, float] | None:
    """When an hour first reached the limit that was in force just then, and that limit in mL.

    ``orders`` holds one at least; ``increments`` are those of the leg's output. A limit that was raised
    within the hour does not undo that the lower one was reached before.
    """
    for stand in filled(increments, hour):
        limit_ml = _last_told_ml(orders, [o for o in orders if o.happened_at <= stand.at])
        if stand.volume_ml >= limit_ml:
            return stand, limit_ml
    return None


def hourly_limit_ml(orders: list[LegEntry], hour: datetime) -> float:
    """The most that was ordered for this clock hour, out of at least one order of it.

    The last that was told before the hour was over; the first of all where none was. One that was never
    confirmed loosens none that was: of the two the lower holds.
    """
    return _last_told_ml(orders, [o for o in orders if o.happened_at < hour + _HOUR])


def _last_told_ml(orders: list[LegEntry], told: list[LegEntry]) -> float:
    told = told or orders[:1]
    sure = [order for order in told if order.confirmed][-1:]
    held = told[-1:] if told[-1].confirmed else [*sure, told[-1]]
    return min(o.entry.volume_ml for o in held if isinstance(o.entry, OrderHourlyLimit))
