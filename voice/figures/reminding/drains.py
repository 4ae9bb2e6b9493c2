"""What there is to be reminded of about the drain itself: closed, clamped, out of level, its bag."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from voice.entries.kinds.drain import DrainLevel, DrainLevelled, DrainZeroed
from voice.entries.kinds.drain_care import CatheterOut
from voice.entries.kinds.leg import LegMark, VehicleChange
from voice.entries.kinds.order import OrderClampLimit
from voice.entries.kinds.patient import HeadOfBed, Position
from voice.figures.consequences.drains import closed_after_reading, disconnected
from voice.figures.consequences.outputs import way_to_bag_open
from voice.figures.consequences.runs import counting, first_at
from voice.figures.drain import clamp_periods
from voice.figures.facts import facts
from voice.figures.order import order, shortest
from voice.figures.reminding.rule import Cause

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from voice.entries.leg import Leg, LegEntry
    from voice.figures.consequences.rule import Spell

DISCONNECTED = timedelta(minutes=2)
"""How long the steps of a disconnection may go untold (common practice, no source: it is an
emergency, and the hands come first)."""

CLOSED = timedelta(minutes=5)
"""How long a drain may be closed for a reading (common practice, no source: a reading takes two or
three)."""

USUAL_CLAMPED_MIN = 30
"""For how many minutes a drain may stand clamped where no limit was ordered (common practice, no
source)."""

EMPTIED = timedelta(minutes=5)
"""How long the stopcock to the bag may go untold after an emptying (common practice, no source)."""

UNLEVELLED = timedelta(minutes=5)
"""How long levelling may go untold after something moved (common practice, no source)."""

JUST_BEFORE = timedelta(minutes=2)
"""By how much levelling may be told to have come before what moved (common practice, no source: the
two are told as the hands allow)."""


def _after(
    wait: timedelta, spells: Callable[[Leg], Iterable[Spell]]
) -> Callable[[Leg], Iterator[Cause]]:
    """The spells of a state with consequences, each due after ``wait``."""

    def causes(leg: Leg) -> Iterator[Cause]:
        for spell in spells(leg):
            yield Cause(spell.since, spell.since + wait, spell.until, values=spell.values)

    return causes


still_disconnected = _after(DISCONNECTED, disconnected)
"""A line that came apart, and a step of it that was not told."""

still_closed = _after(CLOSED, closed_after_reading)
"""A drain that was closed for a reading, and not told to be open again."""

bag_still_open = _after(EMPTIED, way_to_bag_open)
"""A chamber that was emptied, and no stopcock that was told to be closed."""


def clamped_long(leg: Leg) -> Iterator[Cause]:
    """A drain that is clamped for as long as the order allows, or as is usual where it is silent.

    A drain that was ordered to be clamped, which was confirmed, stands as it should: only a limit that was
    ordered counts.
    """
    ordered = shortest(facts(leg.entries, OrderClampLimit), lambda limit: limit.minutes)
    state = order(leg.entries).state
    if ordered is not None:
        minutes = ordered.told.minutes
        limit = f"ordered at most {minutes} min"
    elif state is not None and state.confirmed and state.told.state == "clamped":
        return
    else:
        minutes, limit = USUAL_CLAMPED_MIN, "no order known"
    for period in clamp_periods(leg.entries):
        due_at = period.start_at + timedelta(minutes=minutes)
        yield Cause(period.start_at, due_at, period.end_at, values={"limit": limit})


def out_of_level(leg: Leg) -> Iterator[Cause]:
    """Each change after which the drain has to be levelled again, until it was, or the next change."""
    levelled = counting(leg, DrainLevelled, DrainZeroed, DrainLevel)
    out = first_at(leg, CatheterOut)
    changes = _changes(leg)
    for place, (change, words) in enumerate(changes):
        since = change.happened_at
        later = [one.happened_at for one, _ in changes[place + 1 :]]
        again = [one.happened_at for one in levelled if _levels(one, change)]
        until = min([*again, *([out] if out else []), *later], default=None)
        yield Cause(since, since + UNLEVELLED, until, values={"change": words})


def _changes(leg: Leg) -> list[tuple[LegEntry, str]]:
    """What moved the head against the drain, in words: what was told otherwise before, and moves."""
    found: list[tuple[LegEntry, str]] = []
    last: dict[str, object] = {}
    for one in counting(leg, HeadOfBed, Position, DrainLevel, VehicleChange, LegMark):
        match one.entry:
            case HeadOfBed(angle_deg=angle):
                words, told = "head of bed changed", str(angle)
            case Position(position=position):
                words, told = "patient turned", position
            case DrainLevel(level_cmh2o=level):
                words, told = "drain level changed", f"{level:g}"
            case VehicleChange() | LegMark(mark="loaded" | "unloaded"):
                words, told = "patient moved", str(one.number)
                last.setdefault(words, "")  # each is a move, the first too
            case _:
                continue
        if last.get(words, told) != told:
            found.append((one, words))
        last[words] = told
    return found


def _levels(one: LegEntry, change: LegEntry) -> bool:
    """Whether it was levelled by this after that change.

    A level that is told over its reference was set by it; a level that was changed levels nothing.
    """
    if one.happened_at < change.happened_at - JUST_BEFORE:
        return False
    match one.entry:
        case DrainLevel(reference=reference):
            return reference is not None and not isinstance(change.entry, DrainLevel)
        case _:
            return True
