"""Who travels and why, when the leg was, and how much of it was heard."""

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
from voice.entries.kinds.patient import Diagnosis
from voice.entries.leg import EntryState
from voice.report.sections.desk import signed
from voice.report.telling import doubt
from voice.report.wording import value

if TYPE_CHECKING:
    from voice.report.telling import Telling


def who_and_why(told: Telling) -> list[str]:
    """Why the patient travels, and who travels along, by role."""
    why = dict.fromkeys(f"{value(e.entry)}{doubt(e)}" for e in told.counting(Diagnosis))
    return [
        f"Diagnosis: {'; '.join(why)}." if why else "Diagnosis not told.",
        *told.series(PersonOnBoard),
    ]


def times(told: Telling) -> list[str]:
    """What happened to the leg, and at which altitudes."""
    return [
        *told.in_order(LegMark, VehicleChange, Delay, UnitCalled, HandedOver),
        *told.series(CabinAltitude, FlightAltitude),
    ]


def when(told: Telling) -> str:
    """When the leg began and ended, and by which clock."""
    leg = told.leg
    start = leg.local(leg.started_at)
    minutes = f"{(told.until - leg.started_at).total_seconds() / 60:.0f} min"
    if leg.ended_at:
        end = f"ended {told.day_and_time(leg.ended_at)} after {minutes}{_end_told(told)}."
    elif told.breaks_off:
        end = (
            f"no end was told. The last that is known of it is of {told.day_and_time(told.until)}, after {minutes}: "
            "what was not over by then counts up to there, and how long it went on is not known."
        )
    else:
        end = f"not ended by {told.day_and_time(told.until)}, {minutes} so far."
    return f"Started {start.day} {start:%B %Y %H:%M}, {end} Clock: {start.tzname()}."


def _end_told(told: Telling) -> str:
    """By whom the end was told afterwards, and where nothing is known any more of what went on until then."""
    leg = told.leg
    if leg.desk_end is None:
        return ""
    last = ""
    if leg.flown_until is not None and leg.flown_until < told.until:
        last = f"; the last that was written on it is of {told.day_and_time(leg.flown_until)}"
    return f", as {leg.desk_end.by}, told at the desk{last}"


def heard(told: Telling) -> list[str]:
    """How many entries there are, and what was not taken for one."""
    leg = told.leg
    notes = sum(e.is_note and e.counts for e in leg.entries)
    states = [e.state for e in leg.entries if not (e.is_note and e.counts)]
    counts = ", ".join(f"{states.count(state)} {state}" for state in EntryState)
    other = f"taken for other talk: {leg.passed_over}"
    return [
        f"Entries: {counts}{f', notes kept as sound: {notes}' if notes else ''}.",
        f"Speech not understood: {leg.not_understood}, {other}.",
        *signed(told),
    ]
