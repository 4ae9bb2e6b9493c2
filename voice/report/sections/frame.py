"""When the leg was, who and what took part, and how much of it was heard."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.leg import (
    CabinAltitude,
    Delay,
    FlightAltitude,
    HandedOver,
    LegMark,
    PersonOnBoard,
    UnitCalled,
    VehicleChange,
)
from voice.entries.leg import EntryState

if TYPE_CHECKING:
    from voice.report.telling import Telling


def frame(told: Telling) -> list[str]:
    """When the leg began and ended, what happened to it, and how much was heard."""
    return [
        when(told),
        *told.in_order(LegMark, VehicleChange, Delay, UnitCalled, HandedOver),
        *told.series(PersonOnBoard, CabinAltitude, FlightAltitude),
        *heard(told),
    ]


def when(told: Telling) -> str:
    """When the leg began and ended, and by which clock."""
    leg = told.leg
    start = leg.local(leg.started_at)
    minutes = f"{(told.until - leg.started_at).total_seconds() / 60:.0f} min"
    end = (
        f"ended {told.time(leg.ended_at)} after {minutes}."
        if leg.ended_at
        else f"still running {told.time(told.until)}, {minutes} so far."
    )
    return f"Started {start.day} {start:%B %Y %H:%M}, {end} Clock: {start.tzname()}."


def heard(told: Telling) -> list[str]:
    """How many entries there are, by state, and what was not taken for one."""
    leg = told.leg
    states = [e.state for e in leg.entries]
    counts = ", ".join(f"{states.count(state)} {state}" for state in EntryState)
    other = f"taken for other talk: {leg.passed_over}"
    return [
        f"Entries: {counts}.",
        f"Speech not understood: {leg.not_understood}, {other}.",
    ]
