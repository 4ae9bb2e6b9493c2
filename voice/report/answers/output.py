"""What drained."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.figures.output import output
from voice.meaning.numbers import clock_words, digit_words, plain

if TYPE_CHECKING:
    from datetime import datetime

    from voice.entries.leg import Leg
    from voice.entries.said import Question

HOURS_AT_ONCE = 4
"""More than so many pairs of time and volume are not kept in mind (common practice, no source)."""


def total_output(_: Question, leg: Leg, now: datetime) -> tuple[str, ...]:
    """What drained in all and in the clock hour that runs, and what is in doubt about it."""
    found = output(leg.entries, leg.started_at, leg.settings.zone)
    if found.up_to is None:
        return ("no output told yet",)
    parts = [f"total out, {mils(found.total_ml)}"]
    this_hour = leg.local(now).replace(minute=0, second=0, microsecond=0)
    parts += [f"this hour, {mils(ml)}" for hour, ml in found.by_hour if hour == this_hour]
    if found.unconfirmed:
        entries = "entry" if found.unconfirmed == 1 else "entries"
        parts.append(f"{digit_words(found.unconfirmed)} {entries} unconfirmed")
    if found.questions:
        parts.append("with a question: see the summary")
    return (", ".join(parts),)


def hourly_output(_: Question, leg: Leg, __: datetime) -> tuple[str, ...]:
    """What drained in each clock hour that something is known of, the latest first."""
    hours = output(leg.entries, leg.started_at, leg.settings.zone).by_hour
    if not hours:
        return ("no output told yet",)
    told = [f"from {clock_words(hour.hour, hour.minute)}, {mils(ml)}" for hour, ml in hours[::-1]]
    return tuple(
        ", ".join(told[at : at + HOURS_AT_ONCE]) for at in range(0, len(told), HOURS_AT_ONCE)
    )


def mils(volume_ml: float) -> str:
    """A volume as it is spoken, rounded to tenths."""
    return f"{digit_words(plain(round(volume_ml, 1)))} mils"
