"""The course of a leg as the desk draws it: what was measured and done, each with its entry."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.frozen import Frozen
from voice.entries.kinds.drain import DrainLevel, PressureUnit
from voice.entries.kinds.drugs import GIVEN
from voice.entries.kinds.leg import Delay, HandedOver, LegMark, UnitCalled, VehicleChange
from voice.figures.drain import clamp_periods
from voice.figures.facts import facts
from voice.figures.order import order
from voice.figures.output import output_of
from voice.figures.perfusion import perfusion
from voice.figures.pressure import GAP_S, readings
from voice.figures.units import convert
from voice.report.telling import Telling
from voice.report.wording import entry_text

if TYPE_CHECKING:
    from datetime import datetime

    from pydantic import BaseModel

    from voice.entries.leg import Leg

EVENTS = (LegMark, VehicleChange, Delay, UnitCalled, HandedOver)


class Value(Frozen):
    """Something measured or set, and which entry tells it."""

    at_s: float
    """Seconds since 1970, UTC, as everywhere here."""
    value: float
    number: int
    doubt: str
    """Why it is in doubt; empty where it is not."""


class Period(Frozen):
    """A time for which the drain was closed."""

    start_s: float
    end_s: float
    reason: str
    """Empty where none was said."""
    ended: bool


class Hour(Frozen):
    """What drained in one clock hour."""

    start_s: float
    volume_ml: float


class Done(Frozen):
    """Something that was done or happened."""

    at_s: float
    text: str
    number: int
    doubt: str


class Course(Frozen):
    """All that is drawn, and told in the tables beside the charts."""

    start_s: float
    end_s: float
    pressure_unit: PressureUnit
    gap_s: float
    """No line is drawn between readings that lie further apart."""
    pressure: tuple[Value, ...]
    pressure_limit: float | None
    """What is ordered that it should not pass, in ``pressure_unit``."""
    cpp: tuple[Value, ...]
    """In mmHg; ``number`` is that of the intracranial pressure."""
    cpp_target: float | None
    level: tuple[Value, ...]
    """Each setting of the drain, in cmH2O; it holds until the next."""
    closed: tuple[Period, ...]
    output: tuple[Hour, ...]
    hourly_limit_ml: float | None
    given: tuple[Done, ...]
    events: tuple[Done, ...]


class Courses:
    """The course of one leg, worked out again only where an entry has changed, or its end."""

    def __init__(self) -> None:
        self._last: tuple[tuple[object, ...], Course] | None = None

    def of(self, leg: Leg) -> Course:
        """As `course`."""
        told = (leg.started_at, leg.known_until, leg.settings, leg.entries)
        if self._last is None or self._last[0] != told:
            self._last = (told, course(leg))
        return self._last[1]


def course(leg: Leg) -> Course:
    """The course of a leg up to its end, or to the last that is known of it.

    What was corrected or withdrawn is not in it.
    """
    happened = [leg.started_at, *(e.happened_at for e in leg.counting())]
    told = Telling(leg, leg.known_until or max(happened))
    unit = leg.settings.pressure_unit
    pressures = readings(leg.entries, unit)
    stands = order(leg.entries)
    limit, target, hourly = stands.not_above, stands.perfusion_target, stands.hourly_limit
    return Course(
        start_s=min(happened).timestamp(),
        end_s=max(told.until, *happened).timestamp(),
        pressure_unit=unit,
        gap_s=GAP_S,
        pressure=tuple(
            _value(told, r.at, r.told, r.number, confirmed=r.confirmed) for r in pressures
        ),
        pressure_limit=None if limit is None else convert(limit.told.value, limit.told.unit, unit),
        cpp=tuple(
            _value(told, p.at, p.cpp_mmhg, p.icp.number, confirmed=p.confirmed)
            for p in perfusion(leg.entries)
        ),
        cpp_target=None if target is None else target.told.value_mmhg,
        level=tuple(
            _value(told, f.at, f.told.level_cmh2o, f.number, confirmed=f.confirmed)
            for f in facts(leg.entries, DrainLevel)
        ),
        closed=tuple(
            Period(
                start_s=one.start_at.timestamp(),
                end_s=(one.end_at or told.until).timestamp(),
                reason=one.reason or "",
                ended=one.end_at is not None,
            )
            for one in clamp_periods(leg.entries)
        ),
        output=tuple(
            Hour(start_s=start_at.timestamp(), volume_ml=volume_ml)
            for start_at, volume_ml in output_of(leg).by_hour
        ),
        hourly_limit_ml=None if hourly is None else hourly.told.volume_ml,
        given=_done(told, GIVEN),
        events=_done(told, EVENTS),
    )


def _value(told: Telling, at: datetime, value: float, number: int, *, confirmed: bool) -> Value:
    return Value(
        at_s=at.timestamp(),
        value=round(value, 2),
        number=number,
        doubt=_doubt(told, number, confirmed=confirmed),
    )


def _doubt(told: Telling, number: int, *, confirmed: bool) -> str:
    marks = [mark.text(told.time) for mark in told.marks.get(number, ())]
    return "; ".join([*([] if confirmed else ["unconfirmed"]), *marks])


def _done(told: Telling, kinds: tuple[type[BaseModel], ...]) -> tuple[Done, ...]:
    return tuple(
        Done(
            at_s=e.happened_at.timestamp(),
            text=entry_text(e.entry),
            number=e.number,
            doubt=_doubt(told, e.number, confirmed=e.confirmed),
        )
        for e in told.counting(*kinds)
    )
