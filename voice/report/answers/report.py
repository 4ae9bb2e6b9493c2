"""The leg, told part by part in the order of a handoff: in short, then figures and what was last.

Whatever can be said has its place in it: a section tells the latest about each of its subjects.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.drain import Pressure
from voice.entries.kinds.drugs import DrugGiven
from voice.entries.said import About, Question
from voice.figures.drain import clamp_periods, standing
from voice.figures.pressure import pressure_figures, readings
from voice.report.answers.asking import counted, in_parts, length, number
from voice.report.answers.left import left
from voice.report.answers.output import total_output
from voice.report.answers.perfusion import perfusion_now
from voice.report.answers.short_report import short_report
from voice.report.answers.trend import trend_of

if TYPE_CHECKING:
    from voice.entries.leg import LegEntry
    from voice.report.answers.asking import Asking

SHORT_OVER = "that was the short report"
"""Said before all of it follows."""

_LATEST = {
    "order": "order",
    "drain": "drain",
    "drain_care": "drain care",
    "neuro": "neuro checks",
    "vitals": "vital signs",
    "ventilator": "ventilator",
    "patient": "patient",
    "fluids": "fluids",
    "drugs": "drugs",
    "laboratory": "laboratory",
    "leg": "transport",
    "checks": "checks",
}
"""Sections that tell the latest about each subject: a module of kinds, and how it is spoken."""


def report(_: Question, asking: Asking) -> tuple[str, ...]:
    """What a handoff needs first, in a minute and a half; then all of it.

    Each part says what it is about. The nurse, who asks for each with "next part", can stop after the
    first few.
    """
    sections = [
        ("leg", _frame(asking)),
        ("pressure", _pressure(asking)),
        ("output", list(total_output(_ASKED, asking))),
        ("clamped", _clamped(asking)),
        *((name, _latest(module, asking)) for module, name in _LATEST.items()),
        ("left", left(asking)),
    ]
    in_short = short_report(asking)
    whole = [f"{name}: {part}" for name, told in sections if told for part in in_parts(told)]
    return (*in_short[:-1], f"{in_short[-1]}. {SHORT_OVER}", *whole)


_ASKED = Question(about=About.REPORT)


def _frame(asking: Asking) -> list[str]:
    leg = asking.leg
    until = leg.ended_at or asking.now
    lasted = length((until - leg.started_at).total_seconds() / 60)
    counting = counted(len(asking.entries), "entry", "entries")
    return [f"started {asking.at(leg.started_at)}, {lasted}", counting]


def _pressure(asking: Asking) -> list[str]:
    series = readings(asking.leg.entries, asking.leg.settings.pressure_unit)
    if pressure_figures(series) is None:
        return ["not told"]
    asked = Question(about=About.TREND, subject="pressure")
    return [*trend_of(asked, asking), *perfusion_now(asked, asking)]


def _clamped(asking: Asking) -> list[str]:
    periods = clamp_periods(asking.leg.entries)
    now = standing(asking.leg.entries)
    told = (
        [] if now is None else [f"{now.told.kind.replace('_', ' ')} since {asking.clock(now.at)}"]
    )
    if not periods:
        return told
    minutes = sum(period.minutes(asking.leg.ended_at or asking.now) for period in periods)
    return [*told, f"{counted(len(periods), 'time', 'times')}, {length(minutes)} in all"]


def _latest(module: str, asking: Asking) -> list[str]:
    """The latest about each subject of a module of kinds, in the order in which that happened."""
    return [
        f"{_doses(entries)}{asking.told(entries[-1])}"
        for entries in asking.subjects.values()
        if _module(entries[-1]) == module and not isinstance(entries[-1].entry, Pressure)
    ]


def _module(entry: LegEntry) -> str:
    """The module of the entry's kind: "drain_care"."""
    return type(entry.entry).__module__.rpartition(".")[2]


def _doses(entries: list[LegEntry]) -> str:
    if len(entries) == 1 or not all(isinstance(e.entry, DrugGiven) for e in entries):
        return ""
    return f"{number(len(entries))} doses, last "
