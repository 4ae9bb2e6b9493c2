"""When pressures are in doubt, or past what was ordered."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby, zip_longest
from statistics import median
from typing import TYPE_CHECKING, Literal, TypeVar

from voice.entries.kinds.drain import (
    DrainZeroed,
    DripsAt,
    NoDrip,
    Pressure,
    PressureUnit,
    ZeroFailed,
)
from voice.entries.kinds.order import OrderPerfusionTarget, OrderPressureLimit
from voice.entries.leg import LegEntry
from voice.figures.consequences.rule import Spell
from voice.figures.consequences.runs import Run, counting, of, runs
from voice.figures.drip_test import drip_tests
from voice.figures.perfusion import Perfusion, perfusion
from voice.figures.pressure import GAP_S
from voice.figures.rounding import beside
from voice.figures.units import convert

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from datetime import datetime

    from voice.entries.leg import Leg

_Told = TypeVar("_Told", LegEntry, Perfusion)

STEADY_COUNT = 3
"""How many readings in a row say what the pressure was before (common practice, no source)."""

STEADY_WITHIN_MMHG = 2.0
"""How far apart these may lie. Common practice, no source: a beat-to-beat swing is as large."""

NEAR_MMHG = 1.0
"""How near the converted value must come to them (common practice, no source: a reading is told
in whole numbers)."""

FAR_MMHG = 3.0
"""How far the value as it was said must be from them. Common practice, no source; mmHg and cmH2O
differ by this much from 9 mmHg on."""


# --- zero --------------------------------------------------------------------------------------


def failed_zero_runs(leg: Leg) -> Iterator[Run]:
    """From each failed zero to the next that held, with the pressures in between."""
    told = counting(leg, ZeroFailed, DrainZeroed, Pressure, DripsAt, NoDrip)
    return runs(told, of(ZeroFailed), of(DrainZeroed))


def failed_zero(leg: Leg) -> Iterator[Spell]:
    """No pressure can be relied on between a failed zero and the next that held."""
    for run in failed_zero_runs(leg):
        pressures = (one.number for one in run.within if isinstance(one.entry, Pressure))
        yield Spell(run.since, run.until, run.start.number, marked=tuple(pressures))


def drip_test_instead(leg: Leg) -> Iterator[Spell]:
    """After a failed zero, each drip test that gives an interval: an estimate in its place."""
    tests = drip_tests(leg.entries)
    for run in failed_zero_runs(leg):
        within = {one.number for one in run.within}
        for test in tests:
            steps = tuple(step.number for step in test.steps if step.number in within)
            low, high = (test.between("cmH2O") if steps else None) or (None, None)
            if low is not None and high is not None:
                values = {"low": f"{low:g}", "high": f"{high:g} cmH2O"}
                yield Spell(test.at, run.until, test.number, values, steps)


# --- units and scales --------------------------------------------------------------------------


def other_unit(leg: Leg) -> Iterator[Spell]:
    """The first of the pressures that were said in the unit that is not the leg's."""
    unit = leg.settings.pressure_unit

    def other(one: LegEntry) -> bool:
        return isinstance(one.entry, Pressure) and one.entry.unit != unit

    for run in runs(counting(leg, Pressure), other, lambda one: not other(one)):
        said = run.start.entry
        assert isinstance(said, Pressure)
        values = {"said": said.unit, "value": _in_words(convert(said.value, said.unit, unit), unit)}
        yield Spell(run.since, run.until, run.start.number, values)


def other_scale(leg: Leg) -> Iterator[Spell]:
    """A pressure that fits those before it only if it was read on the other scale.

    Those before it are the last `STEADY_COUNT` within `GAP_S`, at most `STEADY_WITHIN_MMHG` apart:
    where the pressure is not steady anyway, nothing can be told. A pressure in the unit that is not
    the leg's was said with its unit, so it was meant; a confirmed one was asked about and upheld.
    """
    unit: PressureUnit = leg.settings.pressure_unit
    other: PressureUnit = "cmH2O" if unit == "mmHg" else "mmHg"
    before: list[tuple[datetime, float]] = []
    pressures = counting(leg, Pressure)
    for place, one in enumerate(pressures):
        assert isinstance(one.entry, Pressure)
        said_mmhg = convert(one.entry.value, one.entry.unit, "mmHg")
        recent = [mmhg for at, mmhg in before if (one.happened_at - at).total_seconds() <= GAP_S]
        if one.entry.unit == unit and not one.confirmed and _steady(recent):
            as_other_mmhg = convert(one.entry.value, other, "mmHg")
            usual_mmhg = median(recent)
            near = abs(as_other_mmhg - usual_mmhg) <= NEAR_MMHG
            if near and abs(said_mmhg - usual_mmhg) >= FAR_MMHG:
                values = {
                    "before": _in_words(convert(usual_mmhg, "mmHg", unit), unit),
                    "other": other,
                    "value": _in_words(convert(one.entry.value, other, unit), unit),
                }
                until = next((later.happened_at for later in pressures[place + 1 :]), None)
                yield Spell(one.happened_at, until, one.number, values, marked=(one.number,))
        before = [*before, (one.happened_at, said_mmhg)][-STEADY_COUNT:]


def _steady(recent_mmhg: list[float]) -> bool:
    return (
        len(recent_mmhg) == STEADY_COUNT
        and max(recent_mmhg) - min(recent_mmhg) <= STEADY_WITHIN_MMHG
    )


# --- the order ---------------------------------------------------------------------------------


def above_limit(leg: Leg) -> Iterator[Spell]:
    """Pressures above the ordered limit."""
    return _past_limit(leg, "above")


def below_limit(leg: Leg) -> Iterator[Spell]:
    """Pressures below the ordered limit."""
    return _past_limit(leg, "below")


def _past_limit(leg: Leg, side: Literal["above", "below"]) -> Iterator[Spell]:
    limits = [
        Limit(one.happened_at, one.entry.value, one.entry.unit, one.confirmed)
        for one in counting(leg, OrderPressureLimit)
        if isinstance(one.entry, OrderPressureLimit) and one.entry.side == side
    ]
    if not limits:
        return

    def past(one: LegEntry) -> Limit | None:
        """The limit that it is past; the value itself is not yet past it."""
        assert isinstance(one.entry, Pressure)
        limit = in_force(limits, one.happened_at, side)
        value = round(convert(one.entry.value, one.entry.unit, limit.unit), 6)
        over = value > limit.value if side == "above" else value < limit.value
        return limit if over else None

    for limit, told, until in _stretches(counting(leg, Pressure), past):
        same_unit = limit.unit == leg.settings.pressure_unit
        words = f"{limit.value:g}" if same_unit else _in_words(limit.value, limit.unit)
        marked = tuple(one.number for one in told)
        yield Spell(told[0].happened_at, until, told[0].number, {"limit": words}, marked)


def below_target(leg: Leg) -> Iterator[Spell]:
    """Perfusion pressures below the ordered one."""
    targets = [
        Limit(one.happened_at, one.entry.value_mmhg, "mmHg", one.confirmed)
        for one in counting(leg, OrderPerfusionTarget)
        if isinstance(one.entry, OrderPerfusionTarget)
    ]
    if not targets:
        return

    def past(one: Perfusion) -> Limit | None:
        target = in_force(targets, one.at, "below")
        return target if round(one.cpp_mmhg, 6) < target.value else None

    for target, told, until in _stretches(perfusion(leg.entries), past):
        value = beside(told[0].cpp_mmhg, 0, [target.value])
        values = {"limit": f"{target.value:g}", "value": f"{value:g}"}
        yield Spell(told[0].at, until, told[0].icp.number, values)


def _stretches(
    told: Iterable[_Told], past: Callable[[_Told], Limit | None]
) -> Iterator[tuple[Limit, list[_Told], datetime | None]]:
    """Neighbours that are past the same limit, with when the next was told that is not.

    A limit that was ordered anew and is another one begins a stretch of its own.
    """
    limits = [(past(one), one) for one in told]
    groups = [list(group) for _, group in groupby(limits, lambda pair: _same(pair[0]))]
    for group, after in zip_longest(groups, groups[1:]):
        limit = group[0][0]
        if limit is not None:
            until = None if after is None else _at(after[0][1])
            yield limit, [one for _, one in group], until


def _same(limit: Limit | None) -> tuple[float, PressureUnit] | None:
    return None if limit is None else (limit.value, limit.unit)


def _at(told: LegEntry | Perfusion) -> datetime:
    return told.at if isinstance(told, Perfusion) else told.happened_at


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit that was ordered."""

    at: datetime
    """When the order was told."""
    value: float
    unit: PressureUnit
    confirmed: bool


def in_force(limits: list[Limit], at: datetime, side: Literal["above", "below"]) -> Limit:
    """The last that was told by then; the first of all where none was: it stood before the leg.

    One that was never confirmed loosens none that was: of the two the stricter holds.
    """
    told = [limit for limit in limits if limit.at <= at] or limits[:1]
    held = told[-1:] if told[-1].confirmed else [*[x for x in told if x.confirmed][-1:], told[-1]]
    strictest = min if side == "above" else max
    return strictest(held, key=lambda limit: convert(limit.value, limit.unit, "mmHg"))


def _in_words(value: float, unit: PressureUnit) -> str:
    return f"{round(value, 1):g} {unit}"
