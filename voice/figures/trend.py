"""How a measured value ran over a time: first, last, range, mean, and slope with its uncertainty.

The mean is time-weighted as that of the pressure is, and gaps of more than `GAP_S` are not bridged.
The slope is that of the straight line with the least squares through all readings. Its uncertainty
is the half-width of the 95 % confidence interval, as if the readings scattered independently around
the line (Student's t with two degrees of freedom fewer than readings). A few readings taken by hand
do so only roughly: it tells when a slope says nothing, and is no test.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import fsum, sqrt
from typing import TYPE_CHECKING

from voice.entries.kinds.drain import Pressure, PressureUnit
from voice.entries.kinds.vitals import EndTidalCo2Kpa, TemperatureFahrenheit
from voice.entries.measured import MEASURED
from voice.figures.facts import Fact, count_unconfirmed
from voice.figures.pressure import GAP_S, linear, mean
from voice.figures.units import PA_PER_MMHG, celsius, convert

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from voice.entries.kinds import Entry
    from voice.entries.leg import LegEntry

_T_95 = (
    12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228,
    2.201, 2.179, 2.160, 2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086,
    2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042,
)  # fmt: skip
"""Two-sided 95 % point of Student's t for 1 to 30 degrees of freedom (compared with scipy 1.17.1).

For more the last is taken, which is at most 4 % too wide.
"""


@dataclass(frozen=True, slots=True)
class Series:
    """The measurements of one subject, in one unit and in order."""

    readings: tuple[Fact[float], ...]
    left_out: int
    """How many are in a unit that cannot be converted to that of the last."""


def series(entries: Iterable[LegEntry], pressure_unit: PressureUnit) -> Series:
    """The measurements among ``entries``, which are about one subject.

    Pressures are converted to ``pressure_unit``, Fahrenheit to Celsius and kPa of a breath to mmHg;
    of anything else those count that have the unit of the last.
    """
    told = sorted(
        (e for e in entries if e.counts and e.entry.kind in MEASURED),
        key=lambda e: (e.happened_at, e.number),
    )
    values = [_measured(e.entry, pressure_unit) for e in told]
    readings = tuple(
        Fact(e.happened_at, value, e.number, e.confirmed)
        for e, (value, unit) in zip(told, values, strict=True)
        if unit == values[-1][1]
    )
    return Series(readings, len(told) - len(readings))


def _measured(entry: Entry, pressure_unit: PressureUnit) -> tuple[float, str | None]:
    """A value, and its unit where its kind has several that are not converted."""
    match entry:
        case Pressure(value=value, unit=unit):
            return convert(value, unit, pressure_unit), None
        case TemperatureFahrenheit(value_fahrenheit=value):
            return celsius(value), None
        case EndTidalCo2Kpa(value_kpa=value):
            return value * 1000 / PA_PER_MMHG, None
        case _:
            return float(getattr(entry, MEASURED[entry.kind])), getattr(entry, "unit", None)


LEAST_SPAN_S = 15 * 60.0
"""Over less time nothing is told of a slope by the hour (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Slope:
    """How fast a value rose (or, below zero, fell)."""

    per_hour: float
    """In the value's unit an hour."""
    within_per_hour: float | None
    """Half-width of its 95 % confidence interval.

    ``None`` for two readings, which lie on any line, and over less than `LEAST_SPAN_S`.
    """

    @property
    def clear(self) -> bool:
        """Whether zero lies outside the interval: it rises, or it falls."""
        return self.within_per_hour is not None and abs(self.per_hour) > self.within_per_hour


@dataclass(frozen=True, slots=True)
class Trend:
    """What is told of a value over a time."""

    count: int
    unconfirmed: int
    """How many of the readings were never confirmed aloud."""
    first: Fact[float]
    last: Fact[float]
    lowest: float
    highest: float
    mean: float | None
    """Time-weighted, straight from reading to reading; ``None`` where no two are near enough."""
    slope: Slope | None
    """``None`` where all readings are of one moment."""
    gaps: int
    """How many pairs of neighbouring readings are too far apart to be bridged."""


def trend(series: Sequence[Fact[float]]) -> Trend | None:
    """The trend of readings that stand in order; ``None`` where there is none."""
    if not series:
        return None
    values = [one.told for one in series]
    return Trend(
        count=len(series),
        unconfirmed=count_unconfirmed(series),
        first=series[0],
        last=series[-1],
        lowest=min(values),
        highest=max(values),
        mean=mean(linear(series)),
        slope=slope(series),
        gaps=sum((b.at - a.at).total_seconds() > GAP_S for a, b in pairwise(series)),
    )


def slope(series: Sequence[Fact[float]]) -> Slope | None:
    """The slope of the line with the least squares; ``None`` where all is of one moment."""
    hours = [(one.at - series[0].at).total_seconds() / 3600 for one in series]
    values = [one.told for one in series]
    count = len(series)
    middle_h, middle = fsum(hours) / count, fsum(values) / count
    spread = fsum((h - middle_h) ** 2 for h in hours)
    if spread == 0:
        return None
    per_hour = (
        fsum((h - middle_h) * (v - middle) for h, v in zip(hours, values, strict=True)) / spread
    )
    freedom = count - 2
    if freedom <= 0 or hours[-1] * 3600 < LEAST_SPAN_S:
        return Slope(per_hour, None)
    left = fsum(
        (v - middle - per_hour * (h - middle_h)) ** 2 for h, v in zip(hours, values, strict=True)
    )
    t = _T_95[min(freedom, len(_T_95)) - 1]
    return Slope(per_hour, t * sqrt(left / freedom / spread))
