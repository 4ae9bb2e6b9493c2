"""When the drain's level, its being closed, or its line have consequences."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from voice.entries.kinds.drain import (
    DrainClamped,
    DrainLevel,
    DrainLevelled,
    DrainLevelMmhg,
    DrainOpened,
    Pressure,
)
from voice.entries.kinds.drain_care import CatheterOut, Stopcocks
from voice.entries.kinds.order import OrderDrain
from voice.figures.consequences.rule import Spell
from voice.figures.consequences.runs import counting, runs
from voice.figures.disconnection import disconnections

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pydantic import BaseModel

    from voice.entries.leg import Leg, LegEntry

READING = timedelta(minutes=5)
"""How soon after a clamping without a reason a pressure shows that it was meant for a reading
(common practice, no source)."""


# --- level and order ---------------------------------------------------------------------------


def level_in_mmhg(leg: Leg) -> Iterator[Spell]:
    """A level that was said on the scale on which no level is set."""
    told = counting(leg, DrainLevelMmhg, DrainLevel)
    levels = [one.happened_at for one in told if isinstance(one.entry, DrainLevel)]
    for one in told:
        if isinstance(one.entry, DrainLevelMmhg):
            until = next((at for at in levels if at >= one.happened_at), None)
            values = {"level": f"{one.entry.level_mmhg:g} mmHg"}
            yield Spell(one.happened_at, until, one.number, values, (one.number,))


def no_order(leg: Leg) -> Iterator[Spell]:
    """The drain is in use, and no order for it was told."""
    return _in_use_without(leg, OrderDrain)


def no_level(leg: Leg) -> Iterator[Spell]:
    """The drain was opened or levelled, and neither its level nor an order was told."""
    for spell in _in_use_without(leg, OrderDrain, DrainLevel):
        values = {
            "level": f"{leg.settings.usual_level_cmh2o:g} cmH2O",
            "reference": leg.settings.usual_reference,
        }
        yield replace(spell, values=values)


def _in_use_without(leg: Leg, *needed: type[BaseModel]) -> Iterator[Spell]:
    """From the first use of the drain to the first of what is needed, if that came later."""
    used = counting(leg, DrainOpened, DrainLevelled, DrainLevel)[:1]
    for use in used:
        found = counting(leg, *needed)[:1]
        if not found or found[0].happened_at > use.happened_at:
            until = found[0].happened_at if found else None
            yield Spell(use.happened_at, until, use.number)


# --- closed ------------------------------------------------------------------------------------


def closed_after_reading(leg: Leg) -> Iterator[Spell]:
    """The drain was closed to read the pressure, and its reopening was not said.

    A clamping without a reason was for a reading if a pressure follows within `READING`. It is
    about that pressure; about no entry while there is none.
    """
    orders = [
        (one.happened_at, one.entry.state)
        for one in counting(leg, OrderDrain)
        if isinstance(one.entry, OrderDrain)
        and (one.entry.state == "open" or (one.entry.state == "clamped" and one.confirmed))
    ]

    def for_reading(one: LegEntry) -> bool:
        return isinstance(one.entry, DrainClamped) and one.entry.reason in {None, "reading"}

    def ends(one: LegEntry) -> bool:
        no_end = isinstance(one.entry, Pressure) or one.entry == Stopcocks(position="on")
        return not no_end and not for_reading(one)  # stopcocks open nothing that a clamp closes

    told = counting(leg, DrainClamped, DrainOpened, Stopcocks, CatheterOut, Pressure)
    for run in runs(told, for_reading, ends):
        kept_clamped = [at for at, state in orders if state == "clamped" and at > run.since]
        until = min([*kept_clamped, *([run.until] if run.until else [])], default=None)
        ordered = [state for at, state in orders if at <= run.since][-1:]
        pressure = next((one for one in run.within if isinstance(one.entry, Pressure)), None)
        soon = pressure is not None and pressure.happened_at - run.since <= READING
        assert isinstance(run.start.entry, DrainClamped)
        if ordered != ["clamped"] and (soon or run.start.entry.reason == "reading"):
            yield Spell(run.since, until, None if pressure is None else pressure.number)


# --- disconnected ------------------------------------------------------------------------------


def disconnected(leg: Leg) -> Iterator[Spell]:
    """An emergency until each of its steps and a call were told."""
    for one in disconnections(leg.entries):
        values = {"missing": ", ".join(one.missing)}
        marked = (one.number,) if one.missing else ()
        yield Spell(one.at, one.ended_at, one.number, values, marked)
