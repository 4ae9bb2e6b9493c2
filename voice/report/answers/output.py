"""What drained, and what was ordered of it."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from voice.entries.kinds.order import OrderHourlyLimit
from voice.figures.consequences.outputs import hourly_limit_ml
from voice.figures.consequences.runs import counting
from voice.figures.facts import last
from voice.figures.order import hourly_limits_ml
from voice.figures.output import output_of
from voice.report.answers.asking import counted, doubt, in_parts, mils

if TYPE_CHECKING:
    from datetime import datetime

    from voice.entries.said import Question
    from voice.figures.output import OutputFigures
    from voice.report.answers.asking import Asking

_UNTOLD = ("no output told yet",)


def total_output(_: Question, asking: Asking) -> tuple[str, ...]:
    """What drained in all and in the clock hour that runs, and what is in doubt about it."""
    found = _figures(asking)
    if found.up_to is None:
        return _UNTOLD
    parts = [f"total out, {mils(found.total_ml)}"]
    this_hour = _this_hour(asking)
    limits_ml = hourly_limits_ml(asking.leg.entries)
    parts += [
        f"this hour, {mils(ml, *limits_ml)}" for hour, ml in found.by_hour if hour == this_hour
    ]
    return (", ".join([*parts, *_doubts(found)]),)


def hourly_output(_: Question, asking: Asking) -> tuple[str, ...]:
    """What drained in each clock hour that something is known of, the latest first."""
    found = _figures(asking)
    if not found.by_hour:
        return _UNTOLD
    limits_ml = hourly_limits_ml(asking.leg.entries)
    told = [
        f"from {asking.clock(hour)}, {mils(ml, *limits_ml)}" for hour, ml in found.by_hour[::-1]
    ]
    return in_parts([*told, *_doubts(found)])


def output_and_order(_: Question, asking: Asking) -> tuple[str, ...]:
    """What drained in the running clock hour and in the one before, and the ordered limit."""
    orders = counting(asking.leg, OrderHourlyLimit)
    limit = last(asking.leg.entries, OrderHourlyLimit)
    found = _figures(asking)
    hours = dict(found.by_hour)
    this_hour = _this_hour(asking)
    parts = ["no hourly limit told"]
    if limit is not None:
        parts = [f"ordered, {mils(limit.told.volume_ml)} an hour{doubt(limit.confirmed)}"]
    for name, hour in (("this hour", this_hour), ("last hour", this_hour - timedelta(hours=1))):
        if hour not in hours:
            parts.append(f"{name}, not told")
            continue
        limits_ml = [hourly_limit_ml(orders, hour)] if orders else []
        parts.append(f"{name}, {mils(hours[hour], *limits_ml)}")
        for limit_ml in limits_ml:
            if (over_ml := round(hours[hour] - limit_ml, 6)) > 0:
                of_then = limit is not None and limit.told.volume_ml != limit_ml
                then = f" of then, {mils(limit_ml)}" if of_then else ""
                parts.append(f"{mils(over_ml, 0)} over the order{then}")
    return (", ".join([*parts, *_doubts(found)]),)


def _figures(asking: Asking) -> OutputFigures:
    return output_of(asking.leg)


def _this_hour(asking: Asking) -> datetime:
    return asking.leg.local(asking.now).replace(minute=0, second=0, microsecond=0)


def _doubts(found: OutputFigures) -> list[str]:
    parts = []
    if found.unconfirmed:
        parts.append(f"{counted(found.unconfirmed, 'entry', 'entries')} unconfirmed")
    if found.questions:
        parts.append("with a question: see the summary")
    return parts
