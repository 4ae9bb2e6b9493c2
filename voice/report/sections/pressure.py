"""Intracranial pressure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from voice.entries.kinds.drain import Pressure
from voice.figures.consequences.table import FAILED_ZERO
from voice.figures.drip_test import drip_tests
from voice.figures.order import order, pressure_limits
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
    limits = pressure_limits(told.leg.entries, told.leg.settings.pressure_unit)
    return f"{tenths(reading.told, *limits)} at {told.time(reading.at)}{said}{doubts}"


def _range_and_mean(told: Telling, series: Sequence[Reading]) -> str:
    """Range, mean, median, and what lies above the ordered limit, of one reading or more."""
    found = pressure_figures(series)
    assert found is not None, "a series without readings is not told"
    unit = told.leg.settings.pressure_unit
    limits = pressure_limits(told.leg.entries, unit)
    lowest, highest = (tenths(one.told, *limits) for one in (found.lowest, found.highest))
    parts = [f"Range {lowest} to {highest}."]
    if found.mean is None or found.median is None:
        parts.append("No mean: no two readings are near enough.")
    else:
        weighted = f"time-weighted over {found.covered_min:.0f} min."
        parts.append(f"Mean {found.mean:.1f}, median {found.median:.1f}, {weighted}")
    return " ".join([*parts, *_above_limit(told, series)])


def _above_limit(told: Telling, series: Sequence[Reading]) -> list[str]:
    """How many readings lie above the ordered limit, and for how long; nothing where none was told."""
    limit = order(told.leg.entries).not_above
    if limit is None:
        return []
    unit = told.leg.settings.pressure_unit
    threshold = convert(limit.told.value, limit.told.unit, unit)
    past = Past(
        sum(round(one.told - threshold, 6) > 0 for one in series),
        len(series),
        burden(linear(series), threshold),
        burden(carried_forward(series), threshold),
    )
    return [f"Above the ordered {tenths(threshold)}{doubt(limit)}: {past.text(unit, 'reading')}"]


@dataclass(frozen=True, slots=True)
class Past:
    """What lies past an ordered limit."""

    count: int
    """How many of the readings."""
    of: int
    straight: Burden
    held: Burden
    """With each reading held until the next."""

    def text(self, unit: str, each: str) -> str:
        """How many, for how long and how far; each method by itself.

        A reading that no other is near enough to lasts for no time that is known.
        """
        if not self.count:
            return f"no {each}."
        readings = f"{self.count} of {self.of} {each}s"
        straight, held = self.straight, self.held
        if not straight.minutes:
            return f"{readings}, for how long is not known."
        return (
            f"{readings}, {_minutes(straight)}, area {straight.dose:.0f} {unit} min; with each {each} "
            f"held until the next {_minutes(held)}, {held.dose:.0f}."
        )


def _minutes(past: Burden) -> str:
    return "under 1 min" if 0 < past.minutes < 1 else f"{past.minutes:.0f} min"
