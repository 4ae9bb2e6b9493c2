"""The course of a leg in numbers, as the chart draws it and its words tell it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from voice.entries.kinds.drain import DrainLevel
from voice.entries.kinds.drugs import GIVEN, InfusionChanged, InfusionStarted
from voice.figures.consequences.table import FAILED_ZERO
from voice.figures.drain import clamp_periods
from voice.figures.order import order, perfusion_targets_mmhg, pressure_limits
from voice.figures.output import output_of
from voice.figures.perfusion import perfusion
from voice.figures.pressure import GAP_S, readings
from voice.figures.units import convert
from voice.report.telling import ml, tenths, whole
from voice.report.wording import entry_text, number

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime

    from voice.entries.kinds import Entry
    from voice.entries.kinds.drain import PressureUnit
    from voice.entries.leg import LegEntry
    from voice.figures.facts import Fact
    from voice.report.telling import Telling


class Reading(NamedTuple):
    """A pressure, by the minute of the leg."""

    minute: float
    value: float
    doubt: str | None
    """Why it is in doubt; ``None`` where it is not."""


class Points(NamedTuple):
    """Readings of one pressure in order, and which of them belong together."""

    readings: tuple[Reading, ...]
    label: Callable[[float], str]
    """How a value is written."""

    @property
    def stretches(self) -> list[list[tuple[float, float]]]:
        """The readings cut where a gap is too long to be bridged."""
        found: list[list[tuple[float, float]]] = [[]]
        for a, b in pairwise([None, *self.readings]):
            assert b is not None, "only the first is nothing"
            if a is not None and (b.minute - a.minute) * 60 > GAP_S:
                found.append([])
            found[-1].append((b.minute, b.value))
        return [stretch for stretch in found if stretch]


class Table(NamedTuple):
    """Numbers in rows; the first of each row says what it is about."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class Mark(NamedTuple):
    """Something done, by the minute of the leg."""

    minute: float
    text: str


@dataclass(frozen=True, slots=True)
class Course:
    """All that is drawn; times are minutes since ``started_at``."""

    started_at: datetime
    length_min: float
    unit: PressureUnit
    icp: Points
    icp_limit: float | None
    """In ``unit``."""
    cpp: Points
    cpp_target: float | None
    closed: tuple[tuple[float, float], ...]
    done: tuple[Mark, ...]
    output: tuple[tuple[float, float], ...]
    """Start of each clock hour, and what drained in it."""
    hourly_limit: float | None

    def tables(self, time: Callable[[datetime], str]) -> tuple[Table, ...]:
        """The pressures and the output in numbers."""
        cpp = {one.minute: self.cpp.label(one.value) for one in self.cpp.readings}
        pressures = [
            (self._clock(one.minute, time), self.icp.label(one.value), cpp.get(one.minute, ""),
             one.doubt or "")
            for one in self.icp.readings
        ]  # fmt: skip
        hours = [(self._clock(hour, time), self._ml(volume_ml)) for hour, volume_ml in self.output]
        heads = ("Time", f"ICP, {self.unit}", "CPP, mmHg", "Doubt")
        found = (
            Table("Pressures", heads, tuple(pressures)),
            Table("Output by clock hour", ("From", "Drained"), tuple(hours)),
        )
        return tuple(table for table in found if table.rows)

    def _ml(self, volume_ml: float) -> str:
        return ml(volume_ml, *([] if self.hourly_limit is None else [self.hourly_limit]))

    def _clock(self, minute: float, time: Callable[[datetime], str]) -> str:
        return time(self.started_at + timedelta(minutes=minute))

    def in_words(self, time: Callable[[datetime], str]) -> str:
        """What the picture shows, for whoever does not see it."""
        parts = ["Chart over the time of the leg."]
        for name, points, unit in (("ICP", self.icp, self.unit), ("CPP", self.cpp, "mmHg")):
            values = [one.value for one in points.readings]
            if values:
                first, last, lowest, highest = map(
                    points.label, (values[0], values[-1], min(values), max(values))
                )
                ran = f"first {first}, last {last}, between {lowest} and {highest} {unit}"
                parts.append(f"{name}: {ran}, readings {len(values)}.")
        if self.closed:
            spans = (
                f"{self._clock(start, time)} to {self._clock(end, time)}"
                for start, end in self.closed
            )
            parts.append(f"Drain closed: {'; '.join(spans)}.")
        if self.done:
            told = (f"{self._clock(mark.minute, time)} {mark.text}" for mark in self.done)
            parts.append(f"Done: {'; '.join(told)}.")
        if self.output:
            hours = ", ".join(self._ml(volume_ml) for _, volume_ml in self.output)
            parts.append(f"Output by clock hour: {hours}.")
        return " ".join(parts)


def course(told: Telling) -> Course | None:
    """The course of a leg; ``None`` where neither pressure nor output was told."""
    leg = told.leg
    drained = output_of(leg)
    series = readings(leg.entries, leg.settings.pressure_unit)
    if not series and not drained.by_hour:
        return None
    start = min([leg.started_at, *(one.at for one in series)])
    length_min = max((told.until - start).total_seconds() / 60, 1.0)

    def minute(at: datetime) -> float:
        return (at - start).total_seconds() / 60

    stands = order(leg.entries)
    limit = stands.not_above
    target = stands.perfusion_target
    hourly = stands.hourly_limit
    unit = leg.settings.pressure_unit
    return Course(
        started_at=start,
        length_min=length_min,
        unit=unit,
        icp=Points(
            tuple(Reading(minute(r.at), r.told, _doubt(told, r)) for r in series),
            partial(_tenths, pressure_limits(leg.entries, unit)),
        ),
        icp_limit=None if limit is None else convert(limit.told.value, limit.told.unit, unit),
        cpp=Points(
            tuple(
                Reading(minute(p.at), p.cpp_mmhg, _doubt(told, p.icp) or _unsure(p.confirmed))
                for p in perfusion(leg.entries)
            ),
            partial(_whole, perfusion_targets_mmhg(leg.entries)),
        ),
        cpp_target=None if target is None else float(target.told.value_mmhg),
        closed=tuple(
            (minute(p.start_at), minute(p.end_at or told.until)) for p in clamp_periods(leg.entries)
        ),
        done=tuple(Mark(minute(e.happened_at), _short(e.entry)) for e in _done(told)),
        output=tuple((minute(hour), volume_ml) for hour, volume_ml in drained.by_hour),
        hourly_limit=None if hourly is None else hourly.told.volume_ml,
    )


def _whole(limits: Sequence[float], value: float) -> str:
    return whole(value, *limits)


def _tenths(limits: Sequence[float], value: float) -> str:
    return tenths(value, *limits)


def _done(told: Telling) -> Sequence[LegEntry]:
    """Each level that was set anew, and each thing given, in the order in which it happened."""
    levels = told.counting(DrainLevel)
    changed = [b for a, b in pairwise([None, *levels]) if b and (a is None or a.entry != b.entry)]
    return sorted([*changed, *told.counting(*GIVEN)], key=lambda e: (e.happened_at, e.number))


def _short(entry: Entry) -> str:
    """As few words as tell it beside a tick."""
    match entry:
        case DrainLevel(level_cmh2o=level):
            return f"level {number(level)}"
        case InfusionStarted() | InfusionChanged():
            return f"{entry.drug} {number(entry.rate)} {entry.unit}"
        case _:
            text = entry_text(entry)
            return text[0].lower() + text[1:]


def _doubt(told: Telling, reading: Fact[float]) -> str | None:
    if told.is_marked(reading, FAILED_ZERO):
        return "not to be relied on"
    return _unsure(reading.confirmed)


def _unsure(confirmed: bool) -> str | None:
    return None if confirmed else "unconfirmed"
