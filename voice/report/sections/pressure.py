"""Intracranial pressure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.drain import Pressure
from voice.figures.consequences.table import FAILED_ZERO
from voice.figures.drip_test import drip_tests
from voice.figures.order import order
from voice.figures.pressure import (
    Burden,
    Reading,
    burden,
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


def _reading(told: Telling, reading: Reading) -> str:
    """A pressure in the leg's unit; where it was said in the other, as it was said too."""
    entry = next(e.entry for e in told.leg.entries if e.number == reading.number)
    assert isinstance(entry, Pressure)
    said = "" if entry.unit == told.leg.settings.pressure_unit else f", said as {value(entry)}"
    doubts = f"{doubt(reading)}{told.marked(reading)}"
    return f"{tenths(reading.told)} at {told.time(reading.at)}{said}{doubts}"


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
    return f" Above the ordered {tenths(threshold)}{doubt(limit)}: {burdens(straight, held, unit)}"


def burdens(straight: Burden, held: Burden, unit: str) -> str:
    """Time and area by both methods; no area where no time is."""
    if not straight.minutes and not held.minutes:
        return "0 min."
    return (
        f"{straight.minutes:.0f} min, area {straight.dose:.0f} {unit} min; with each reading held "
        f"until the next {held.minutes:.0f} min, {held.dose:.0f}."
    )
