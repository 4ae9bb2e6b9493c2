"""The spoken answers about a leg."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.leg import EntryState
from voice.entries.said import Talk
from voice.figures.output import output
from voice.meaning.numbers import clock_words, digit_words, plain
from voice.meaning.readback import read_back

if TYPE_CHECKING:
    from datetime import datetime

    from voice.entries.leg import Leg


def answer(talk: Talk, leg: Leg, now: datetime) -> str:
    """What is said to "read last" and to "total out", numbers digit by digit.

    Raises:
        ValueError: for any other word to the program.
    """
    match talk:
        case Talk.READ_LAST:
            return _read_last(leg)
        case Talk.TOTAL_OUT:
            return _total_out(leg, now)
        case _:
            raise ValueError(f"“{talk}” asks nothing about the leg.")


def _read_last(leg: Leg) -> str:
    counting = [entry for entry in leg.entries if entry.counts]
    if not counting:
        return "nothing kept yet"
    last = counting[-1]
    happened_at = leg.local(last.happened_at)
    parts = ["last", read_back(last.entry, leg.settings)]
    if last.state is EntryState.UNCONFIRMED:
        parts.append("unconfirmed")
    parts.append(f"at {clock_words(happened_at.hour, happened_at.minute)}")
    return ", ".join(parts)


def _total_out(leg: Leg, now: datetime) -> str:
    found = output(leg.entries, leg.started_at, leg.settings.zone)
    if found.up_to is None:
        return "no output told yet"
    parts = [f"total out, {_mils(found.total_ml)}"]
    this_hour = leg.local(now).replace(minute=0, second=0, microsecond=0)
    parts += [f"this hour, {_mils(ml)}" for hour, ml in found.by_hour if hour == this_hour]
    if found.unconfirmed:
        entries = "entry" if found.unconfirmed == 1 else "entries"
        parts.append(f"{digit_words(found.unconfirmed)} {entries} unconfirmed")
    if found.questions:
        parts.append("with a question: see the summary")
    return ", ".join(parts)


def _mils(volume_ml: float) -> str:
    return f"{digit_words(plain(round(volume_ml, 1)))} mils"
