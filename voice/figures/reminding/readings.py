"""What there is to be reminded of because it has to come back: a pressure, a zero, a dose."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from voice.entries.kinds.drain import DrainZeroed, DripsAt, NoDrip, Pressure
from voice.entries.kinds.drain_care import CatheterOut
from voice.entries.kinds.order import OrderDoseInterval, OrderPressureInterval, OrderZeroInterval
from voice.figures.consequences.runs import counting, first_at
from voice.figures.drugs import runs, taken
from voice.figures.facts import Fact, facts
from voice.figures.order import shortest
from voice.figures.reminding.rule import Cause

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.entries.leg import Leg

USUAL_PRESSURE_MIN = 60
"""For how many minutes no pressure may be told where no interval was ordered (common practice, no
source), once one was."""


def no_pressure(leg: Leg) -> Iterator[Cause]:
    """No pressure since the last one for as long as was ordered, or as is usual; a drip test will do.

    Without an order, where none was ever told, nothing measures it, and nothing is due.
    """
    told = [one.happened_at for one in counting(leg, Pressure, DripsAt, NoDrip)]
    interval = shortest(facts(leg.entries, OrderPressureInterval), lambda told: told.minutes)
    if interval is not None:
        minutes, ordered = interval.told.minutes, f"ordered every {interval.told.minutes} min"
    elif told:
        minutes, ordered = USUAL_PRESSURE_MIN, "no order known"
    else:
        return
    since = max(told, default=leg.started_at)
    due_at = since + timedelta(minutes=minutes)
    yield Cause(since, due_at, first_at(leg, CatheterOut), values={"ordered": ordered})


def zero_old(leg: Leg) -> Iterator[Cause]:
    """Zeroed, or the leg begun, as long ago as was ordered; without an order nothing is due."""
    interval = shortest(facts(leg.entries, OrderZeroInterval), lambda told: told.hours)
    if interval is None:
        return
    told = [one.happened_at for one in counting(leg, DrainZeroed)]
    since = max(told, default=leg.started_at)
    hours = interval.told.hours
    due_at = since + timedelta(hours=hours)
    yield Cause(since, due_at, first_at(leg, CatheterOut), values={"ordered": f"{hours}"})


def dose_due(leg: Leg) -> Iterator[Cause]:
    """Each drug that was last given as long ago as was ordered, and does not run as an infusion.

    Where no dose of it was ever told, nobody knows when the next is due.
    """
    orders: dict[str, list[Fact[OrderDoseInterval]]] = {}
    for fact in facts(leg.entries, OrderDoseInterval):
        orders.setdefault(fact.told.drug, []).append(fact)
    for drug, told in orders.items():
        interval = shortest(told, lambda one: one.hours)
        assert interval is not None, "one was told of each drug"
        hours = interval.told.hours
        running = any(run.end_at is None for run in runs(leg.entries, drug))
        given = [] if running else taken(leg.entries, drug, leg.settings.zone)
        for since in given[-1:]:
            values = {"drug": drug, "ordered": f"{hours}"}
            yield Cause(since, since + timedelta(hours=hours), about=drug, values=values)
