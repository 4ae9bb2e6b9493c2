"""How one subject ran."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from voice.figures.trend import series, trend
from voice.report.answers.asking import counted, number

if TYPE_CHECKING:
    from voice.entries.said import Question
    from voice.figures.trend import Slope, Trend
    from voice.report.answers.asking import Asking

_TIMES = {30: "half hour", 60: "hour"}


def trend_of(question: Question, asking: Asking) -> tuple[str, ...]:
    """First, last, range, mean and slope of a measurement, over the last minutes or the leg."""
    subject = asking.subject(question.subject)
    told = [e for e in asking.entries if subject is not None and subject.fits(e.entry)]
    if question.minutes is not None:
        since = asking.now - timedelta(minutes=question.minutes)
        told = [e for e in told if e.happened_at >= since]
    found = series(told, asking.leg.settings.pressure_unit)
    ran = trend(found.readings)
    over = _over(question.minutes)
    if ran is None:
        return (f"no {question.subject} {over}",)
    which = " systolic" if question.subject == "blood pressure" else ""
    parts = [f"{question.subject}{which} {over}", *_figures(ran, asking), *_doubts(ran)]
    if unsure := sum(not asking.reliable(one.number) for one in found.readings):
        parts.append(f"{number(unsure)} not to be relied on")
    if found.left_out:
        parts.append(f"{number(found.left_out)} in another unit left out")
    return (", ".join(parts),)


def _over(minutes: int | None) -> str:
    if minutes is None:
        return "over the leg"
    return f"over the last {_TIMES.get(minutes) or counted(minutes // 60, 'hour', 'hours')}"


def _figures(found: Trend, asking: Asking) -> list[str]:
    readings = counted(found.count, "reading", "readings")
    if found.count == 1:
        return [readings, number(found.last.told), asking.at(found.last.at)]
    parts = [
        readings,
        f"first {number(found.first.told)}",
        f"last {number(found.last.told)}",
        f"between {number(found.lowest)} and {number(found.highest)}",
    ]
    if found.mean is not None:
        parts.append(f"mean {number(found.mean)}")
    return [*parts, _slope(found.slope)]


def _slope(slope: Slope | None) -> str:
    if slope is None or slope.within_per_hour is None:
        return "too little for a slope"
    if not slope.clear:
        return "no clear slope"
    way = "rising" if slope.per_hour > 0 else "falling"
    within = number(slope.within_per_hour)
    return f"{way} {number(abs(slope.per_hour))} an hour, plus or minus {within}"


def _doubts(found: Trend) -> list[str]:
    parts = []
    if found.gaps:
        parts.append(f"{counted(found.gaps, 'gap', 'gaps')} not bridged")
    if found.unconfirmed:
        parts.append(f"{number(found.unconfirmed)} unconfirmed")
    return parts
