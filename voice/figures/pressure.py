"""Intracranial pressure over time: last, range, time-weighted mean and median, burden.

Between two readings the pressure is taken to run straight from one to the other (`linear`), or to
stay at the first (`carried_forward`). No reading is invented beyond the first and the last, nor
across a gap longer than `GAP_S`.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from voice.entries.kinds.drain import Pressure, PressureUnit
from voice.figures.facts import Fact, count_unconfirmed, facts
from voice.figures.units import convert

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from voice.entries.leg import LegEntry

GAP_S = 30 * 60.0
"""The longest time between two readings that is bridged, in seconds.

Common practice, no source: twice the quarter of an hour at which a pressure is often read under
way. One missed reading is bridged; over more, nobody knows what the pressure did.
"""

Reading = Fact[float]
"""A pressure at a time, in the unit that was asked for."""


def readings(entries: Iterable[LegEntry], unit: PressureUnit) -> tuple[Reading, ...]:
    """All intracranial pressures that count, in one unit."""
    return tuple(
        Fact(fact.at, convert(fact.told.value, fact.told.unit, unit), fact.number, fact.confirmed)
        for fact in facts(entries, Pressure)
    )


class Stretch(NamedTuple):
    """A time over which the pressure ran straight from one value to another."""

    duration_s: float
    first: float
    last: float


def linear(series: Sequence[Reading], gap_s: float = GAP_S) -> list[Stretch]:
    """The stretches between neighbouring readings, gaps left out."""
    spans = (((b.at - a.at).total_seconds(), a.told, b.told) for a, b in pairwise(series))
    return [Stretch(*span) for span in spans if span[0] <= gap_s]


def carried_forward(series: Sequence[Reading], gap_s: float = GAP_S) -> list[Stretch]:
    """The same, each reading holding until the next."""
    return [Stretch(s.duration_s, s.first, s.first) for s in linear(series, gap_s)]


def mean(stretches: Iterable[Stretch]) -> float | None:
    """The time-weighted mean; ``None`` where no time is covered."""
    stretches = list(stretches)
    covered_s = sum(s.duration_s for s in stretches)
    if not covered_s:
        return None
    return sum(s.duration_s * (s.first + s.last) / 2 for s in stretches) / covered_s


class Burden(NamedTuple):
    """How long and how far the pressure was on one side of a threshold."""

    minutes: float
    dose: float
    """Unit of pressure times minutes: the area between the pressure and the threshold."""


def burden(stretches: Iterable[Stretch], threshold: float) -> Burden:
    """Time and area above ``threshold``, which is in the unit of the stretches.

    For severe head injury treatment above 22 mmHg is recommended (Brain Trauma Foundation, 4th
    edition, 2016); the leg's own order comes first.
    """
    above_min = dose = 0.0
    for duration_s, first, last in stretches:
        low, high = sorted((first - threshold, last - threshold))
        if high <= 0:
            continue
        share = 1.0 if low >= 0 else high / (high - low)
        minutes = share * duration_s / 60
        above_min += minutes
        dose += minutes * (high + max(low, 0.0)) / 2
    return Burden(above_min, dose)


def burden_below(stretches: Iterable[Stretch], threshold: float) -> Burden:
    """Time and area below ``threshold``, as for a perfusion pressure that is to be reached."""
    upside_down = [Stretch(s.duration_s, -s.first, -s.last) for s in stretches]
    return burden(upside_down, -threshold)


def median(stretches: Iterable[Stretch]) -> float | None:
    """The time-weighted median; ``None`` where no time is covered.

    The pressure was above it for one half of the time, and below it for the other. Where more than
    one does that, or the pressure stood still, the lowest.
    """
    stretches = list(stretches)
    half_min = sum(s.duration_s for s in stretches) / 60 / 2
    if not half_min:
        return None
    levels = sorted({value for s in stretches for value in s[1:]})
    above = [burden(stretches, level).minutes for level in levels]
    upper = next(i for i, minutes in enumerate(above) if minutes <= half_min)
    still_min = sum(s.duration_s for s in stretches if s.first == s.last == levels[upper]) / 60
    if upper == 0 or above[upper] + still_min >= half_min:
        return levels[upper]
    # between two neighbouring levels the time above runs straight from one to the other
    share = (above[upper - 1] - half_min) / (above[upper - 1] - above[upper] - still_min)
    return levels[upper - 1] + share * (levels[upper] - levels[upper - 1])


@dataclass(frozen=True, slots=True)
class PressureFigures:
    """What is told of the pressure, in one unit."""

    count: int
    unconfirmed: int
    """How many of the readings were never confirmed aloud."""
    last: Reading
    lowest: Reading
    highest: Reading
    mean: float | None
    """Time-weighted, linear; ``None`` where no two readings are near enough."""
    median: float | None
    """The same."""
    covered_min: float
    """Minutes over which mean and median are taken."""
    gaps: tuple[tuple[Reading, Reading], ...]
    """Neighbouring readings that are too far apart to be bridged."""


def pressure_figures(series: Sequence[Reading], gap_s: float = GAP_S) -> PressureFigures | None:
    """The figures of a series; ``None`` where there is no reading."""
    if not series:
        return None
    stretches = linear(series, gap_s)
    return PressureFigures(
        count=len(series),
        unconfirmed=count_unconfirmed(series),
        last=series[-1],
        lowest=min(series, key=lambda r: r.told),
        highest=max(series, key=lambda r: r.told),
        mean=mean(stretches),
        median=median(stretches),
        covered_min=sum(s.duration_s for s in stretches) / 60,
        gaps=tuple((a, b) for a, b in pairwise(series) if (b.at - a.at).total_seconds() > gap_s),
    )
