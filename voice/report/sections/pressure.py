"""Intracranial and perfusion pressure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.drain import Pressure
from voice.figures.consequences.table import FAILED_ZERO
from voice.figures.drip_test import drip_tests
from voice.figures.facts import Fact
from voice.figures.order import order
from voice.figures.perfusion import WINDOW_S, Perfusion, arterial
from voice.figures.perfusion import perfusion as perfusions
from voice.figures.pressure import (
    Burden,
    Reading,
    burden,
    burden_below,
    carried_forward,
    linear,
    pressure_figures,
    readings,
)
from voice.figures.units import convert
from voice.report.sections.effects import answers
from voice.report.telling import doubt, tenths
from voice.report.wording import number, value

if TYPE_CHECKING:
    from collections.abc import Sequence

    from voice.report.telling import Telling


def pressure(told: Telling) -> list[str]:
    """Last, range, mean, burden, what answered it, and all readings of the pressure."""
    series = _readings(told)
    in_order = f"In order: {'; '.join(_reading(told, one) for one in series)}."
    every = [in_order] if series else []
    return [*pressure_sums(told), *answers(told), *every, *drip_test_lines(told)]


def pressure_sums(told: Telling) -> list[str]:
    """Last, range, mean and burden, and what they are without the readings in doubt."""
    series = _readings(told)
    found = pressure_figures(series)
    if found is None:
        return []
    lines = [f"Last {_reading(told, found.last)}.", _range_and_mean(told, series)]
    if order(told.leg.entries).not_above is None:
        lines.append("No upper limit told: no time above one is counted.")
    lines += [f"Not bridged: {told.time(a.at)} to {told.time(b.at)}." for a, b in found.gaps]
    if found.unconfirmed:
        sure = [r for r in series if r.confirmed]
        alone = f"The others alone: {_range_and_mean(told, sure)}" if sure else "None is confirmed."
        lines.append(f"Unconfirmed: {found.unconfirmed} of {found.count} readings. {alone}")
    return lines + _without_unreliable(told, series)


def _readings(told: Telling) -> tuple[Reading, ...]:
    return readings(told.leg.entries, told.leg.settings.pressure_unit)


def _without_unreliable(told: Telling, series: Sequence[Reading]) -> list[str]:
    """What the pressures are without those that were read after a failed zero."""
    marked = {one.number for one in series if told.is_marked(one, FAILED_ZERO)}
    if not marked:
        return []
    sure = [one for one in series if one.number not in marked]
    alone = f"The others alone: {_range_and_mean(told, sure)}" if sure else "There is no other."
    return [f"Not to be relied on: {len(marked)} of {len(series)} readings. {alone}"]


def drip_test_lines(told: Telling) -> list[str]:
    """What each drip test makes of the pressure, where it makes anything of it."""
    lines = []
    for test in drip_tests(told.leg.entries):
        dripped, stopped = test.dripped_cmh2o, test.stopped_cmh2o
        between = test.between(told.leg.settings.pressure_unit)
        if dripped is None or between is None:
            continue
        low, high = between
        estimate, seen = f"{tenths(low)} or more", f"{number(dripped)} cmH2O"
        if stopped is not None and high is not None:
            estimate, seen = f"{tenths(low)} to {tenths(high)}", f"{seen}, not at {number(stopped)}"
        lines.append(
            f"Drip test {told.time(test.at)}: {estimate}, an estimate: it dripped at "
            f"{seen}{doubt(test)}."
        )
    return lines


def perfusion(told: Telling) -> list[str]:
    """Last, range and all values of the cerebral perfusion pressure."""
    found = perfusions(told.leg.entries)
    if not found:
        both = arterial(told.leg.entries) and told.counting(Pressure)
        apart = f"No ICP within {number(WINDOW_S / 60)} min of a mean arterial pressure."
        return [apart] if both else []
    return [*perfusion_sums(told), f"In order: {'; '.join(_cpp(told, one) for one in found)}."]


def perfusion_sums(told: Telling) -> list[str]:
    """Last, range and burden of the cerebral perfusion pressure."""
    found = perfusions(told.leg.entries)
    if not found:
        return []
    lines = [f"Last {_cpp(told, found[-1])}.", *_cpp_range(told, found)]
    sure = [one for one in found if one.confirmed]
    if len(sure) < len(found):
        alone = ["The others alone:", *_cpp_range(told, sure)] if sure else ["None is confirmed."]
        lines.append(f"Unconfirmed: {len(found) - len(sure)} of {len(found)}. {' '.join(alone)}")
    return lines


def _cpp_range(told: Telling, found: Sequence[Perfusion]) -> list[str]:
    values = [one.cpp_mmhg for one in found]
    return [f"Range {min(values):.0f} to {max(values):.0f}.", *_below_target(told, found)]


def _below_target(told: Telling, found: Sequence[Perfusion]) -> list[str]:
    """How long and how far it was below what was ordered; no line where nothing was."""
    target = order(told.leg.entries).perfusion_target
    series = [Fact(one.at, one.cpp_mmhg, one.icp.number, one.confirmed) for one in found]
    stretches = linear(series)
    if target is None or not stretches:
        return []
    straight = burden_below(stretches, target.told.value_mmhg)
    held = burden_below(carried_forward(series), target.told.value_mmhg)
    minutes = sum(stretch.duration_s for stretch in stretches) / 60
    below = f"Below the ordered {target.told.value_mmhg}{doubt(target)}, over {minutes:.0f} min"
    return [f"{below}: {_burdens(straight, held, 'mmHg')}"]


def _reading(told: Telling, reading: Reading) -> str:
    """A pressure in the leg's unit; where it was said in the other, as it was said too."""
    entry = next(e.entry for e in told.leg.entries if e.number == reading.number)
    assert isinstance(entry, Pressure)
    said = "" if entry.unit == told.leg.settings.pressure_unit else f", said as {value(entry)}"
    doubts = f"{doubt(reading)}{told.marked(reading)}"
    return f"{tenths(reading.told)} at {told.time(reading.at)}{said}{doubts}"


def _cpp(told: Telling, one: Perfusion) -> str:
    mean = one.mean_arterial.told
    worked_out = " worked out" if mean.worked_out else ""
    parts = f"MAP {mean.mmhg:.0f}{worked_out}, ICP {tenths(one.icp.told)}{told.marked(one.icp)}"
    return f"{one.cpp_mmhg:.0f} at {told.time(one.at)} from {parts}{doubt(one)}"


def _range_and_mean(told: Telling, series: Sequence[Reading]) -> str:
    """Range, mean, median, and what lies above the ordered limit, of one reading or more."""
    found = pressure_figures(series)
    assert found is not None, "a series without readings is not told"
    spread = f"Range {tenths(found.lowest.told)} to {tenths(found.highest.told)}."
    if found.mean is None or found.median is None:
        return f"{spread} No mean: no two readings are near enough."
    weighted = f"time-weighted over {found.covered_min:.0f} min."
    return f"{spread} Mean {found.mean:.1f}, median {found.median:.1f}, {weighted}{_above_limit(told, series)}"


def _above_limit(told: Telling, series: Sequence[Reading]) -> str:
    limit = order(told.leg.entries).not_above
    if limit is None:
        return ""
    unit = told.leg.settings.pressure_unit
    threshold = convert(limit.told.value, limit.told.unit, unit)
    straight = burden(linear(series), threshold)
    held = burden(carried_forward(series), threshold)
    return f" Above the ordered {tenths(threshold)}{doubt(limit)}: {_burdens(straight, held, unit)}"


def _burdens(straight: Burden, held: Burden, unit: str) -> str:
    """Time and area by both methods; no area where no time is."""
    if not straight.minutes and not held.minutes:
        return "0 min."
    return (
        f"{straight.minutes:.0f} min, area {straight.dose:.0f} {unit} min; with each reading held "
        f"until the next {held.minutes:.0f} min, {held.dose:.0f}."
    )
