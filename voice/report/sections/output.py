"""What drained, and what only a person can settle."""

from __future__ import annotations

from datetime import timedelta
from math import fsum
from typing import TYPE_CHECKING

from voice.entries.kinds.drain import (
    BagChanged,
    BagState,
    ChamberEmptied,
    CsfClarity,
    CsfColour,
    StopcockClosed,
)
from voice.entries.kinds.leg import LegMark
from voice.entries.kinds.order import OrderHourlyLimit
from voice.figures.coma import disagreements, totals
from voice.figures.consequences.outputs import hourly_limit_ml, reached_meanwhile
from voice.figures.consequences.runs import counting
from voice.figures.departure import departure
from voice.figures.drip_test import drip_tests
from voice.figures.facts import confirmed_only
from voice.figures.hour_so_far import filled
from voice.figures.lumps import lumps
from voice.figures.order import hourly_limits_ml, order
from voice.figures.output import OutputFigures, hourly, output_of
from voice.figures.output import output as output_figures
from voice.report.telling import doubt, ml

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from voice.figures.facts import Fact
    from voice.report.telling import Telling


def output(told: Telling) -> list[str]:
    """What drained, in total and by clock hour, and how it looked."""
    return [*output_sums(told), *looks(told), *emptied(told)]


def output_sums(told: Telling) -> list[str]:
    """What drained, in total and by the hour, and what is behind that."""
    found = _figures(told)
    lines = []
    if found.up_to is not None:
        lines.append(f"Total {ml(found.total_ml)} up to {told.time(found.up_to)}.")
    if found.by_hour:
        lines.append(f"By clock hour: {_hours(told, found.by_hour)}.")
        if left := departure(told.leg.entries):
            lines.append(_since(told, left, hourly(found.increments, left.at)))
        lines += [*_against_order(told, found), *_rate(told, found)]
    if found.unconfirmed:
        sure = output_figures(
            confirmed_only(told.leg.entries), told.leg.started_at, told.leg.settings.zone
        )
        lines.append(
            f"Unconfirmed entries behind the total: {found.unconfirmed}. Without them: "
            f"{ml(sure.total_ml)}."
        )
    if found.starting is not None:
        after_said = any(one.start_at < found.starting.at for one in found.increments)
        starts = "The chamber counts from its" if after_said else "Counting starts at the"
        lines.append(
            f"{starts} first {'' if after_said else 'chamber '}reading, "
            f"{ml(found.starting.told.volume_ml)} at {told.time(found.starting.at)}."
        )
    if found.flushes:
        off_ml = found.flushed_ml - found.flush_left_ml
        lines.append(
            f"Flushed in {ml(found.flushed_ml)}{_counted(told, found.flushes)}: {ml(off_ml)} came "
            "off the output."
        )
    return [*lines, *_in_lumps(told, found)]


def _since(told: Telling, left: Fact[LegMark], by_hour: Sequence[tuple[datetime, float]]) -> str:
    """What drained in each hour since the patient left, and before in one sum."""
    before = [volume_ml for hour, volume_ml in by_hour if hour < left.at]
    since = [one for one in by_hour if one[0] >= left.at]
    earlier = f"{ml(fsum(before))} before; " if before else ""
    return f"By hour since {left.told.mark}: {earlier}{_hours(told, since) or 'nothing read yet'}."


def _against_order(told: Telling, found: OutputFigures) -> list[str]:
    """Each clock hour in which as much drained as was ordered at most, or more."""
    orders = counting(told.leg, OrderHourlyLimit)
    if not orders:
        return []
    reached = []
    for hour, volume_ml in found.by_hour:
        limit_ml = hourly_limit_ml(orders, hour)
        over_ml = round(volume_ml - limit_ml, 6)
        meanwhile = reached_meanwhile(orders, found.increments, hour)
        line = f"{ml(volume_ml, limit_ml)} from {told.time(hour)}, at most {ml(limit_ml)}"
        if over_ml >= 0:
            reached.append(f"{line}, {ml(over_ml, 0)} over" if over_ml else line)
        elif meanwhile is not None:
            then, limit_then_ml = meanwhile
            by_then = f"{ml(then.volume_ml, limit_then_ml)} by {told.time(then.at)}"
            reached.append(f"{line}; {by_then}, when it was at most {ml(limit_then_ml)}")
    none = "no clock hour that was told reached it"
    return [f"Against the order: {'; '.join(reached) or none}."]


def _rate(told: Telling, found: OutputFigures) -> list[str]:
    """How fast it drained in the last clock hour that was told, and where that hour leads to."""
    if not found.by_hour:
        return []
    hour, _ = found.by_hour[-1]
    so_far = filled(found.increments, hour)[-1:]
    lines = []
    for one in so_far:
        if one.ml_per_hour is not None:
            minutes = one.covered.total_seconds() / 60
            limits_ml = hourly_limits_ml(told.leg.entries)
            line = f"Rate in the hour from {told.time(hour)}: {ml(one.ml_per_hour, *limits_ml)} an hour, over {minutes:.0f} min"
            goes_on = told.goes_on and told.until < hour + timedelta(hours=1)
            ends = (
                f"; at this rate {ml(one.projected_ml(hour), *limits_ml)} by its end"
                if goes_on
                else ""
            )
            lines.append(f"{line}{ends}.")
    return lines


def looks(told: Telling) -> list[str]:
    """How it looked, each time that it was told."""
    return told.series(CsfColour, CsfClarity)


def emptied(told: Telling) -> list[str]:
    """Where it went, and what it was caught in."""
    return told.in_order(ChamberEmptied, StopcockClosed, BagState, BagChanged)


def _hours(told: Telling, by_hour: Sequence[tuple[datetime, float]]) -> str:
    limits_ml = hourly_limits_ml(told.leg.entries)
    return "; ".join(
        f"{ml(volume_ml, *limits_ml)} from {told.time(hour)}" for hour, volume_ml in by_hour
    )


def _counted(told: Telling, flushes: int) -> str:
    """How often something was flushed in, where that says more than the volume."""
    limit = order(told.leg.entries).flush_limit
    if limit is not None:
        return f", flushes {flushes}, at most {limit.told.count} ordered"
    return f", flushes {flushes}" if flushes > 1 else ""


def _in_lumps(told: Telling, found: OutputFigures) -> list[str]:
    parts = [
        f"{ml(lump.volume_ml)} in {lump.minutes:.0f} min from {told.time(lump.opened_at)} after "
        f"{lump.closed_before_min:.0f} min closed{doubt(lump)}"
        for lump in lumps(told.leg.entries, found.increments)
    ]
    if not parts:
        return []
    return [f"Drained in lumps, with the drain closed in between: {'; '.join(parts)}."]


def questions(told: Telling) -> list[str]:
    """What only a person can settle."""
    tests = [test for test in drip_tests(told.leg.entries) if test.contradicts_itself]
    early = [
        e
        for e in told.leg.counting()
        if e.happened_at < told.leg.started_at and not isinstance(e.entry, LegMark)
    ]  # the times of a transport begin before its leg
    return [
        *(f"Entry {q.number}, {told.time(q.at)}: {q.text}" for q in _figures(told).questions),
        *(
            f"Entry {test.number}, {told.time(test.at)}: The drip test dripped at "
            f"{test.dripped_cmh2o:g} and not at {test.stopped_cmh2o:g} cmH2O: it gives no pressure."
            for test in tests
        ),
        *(
            f"Entry {score.number}, {told.time(score.at)}: GCS total {score.told.total}, but its "
            f"parts of {told.time(parts.at)} add up to {' or '.join(map(str, totals(parts.told)))}."
            for score, parts in disagreements(told.leg.entries)
        ),
        *(f"Said to have happened before the leg started: {told.row(e)}" for e in early),
    ]


def _figures(told: Telling) -> OutputFigures:
    return output_of(told.leg)
