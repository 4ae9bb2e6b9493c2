"""The leg at a glance, as plain text, for whoever sits beside the nurse.

To be read at arm's length and in the dark: few words a line, what matters in capitals, no colour,
and only what was told. Nothing on it is needed to work, and nothing is ordered by it.
"""

from __future__ import annotations

from datetime import timedelta
from textwrap import wrap
from typing import TYPE_CHECKING

from voice.entries.kinds.drain import (
    DrainClamped,
    DrainLevel,
    DrainLevelMmhg,
    DrainOpened,
    DrainZeroed,
    ZeroFailed,
)
from voice.entries.kinds.drain_care import CatheterOut
from voice.entries.leg import EntryState
from voice.figures.drain import standing
from voice.figures.facts import facts, last
from voice.figures.order import hourly_limits_ml, order
from voice.figures.output import output_of
from voice.report.telling import Telling, doubt, ml
from voice.report.wording import entry_text, value

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from voice.entries.leg import Leg, LegEntry
    from voice.figures.facts import Fact

LAST = 4
"""How many entries are shown, the newest first; as many of the older ones that nobody confirmed."""
TROUBLE = timedelta(minutes=5)
"""For how long trouble of the program itself is shown."""
NARROWEST = 24
"""Columns below which nothing could be laid out."""


def screen(leg: Leg | None, talk: str, now: datetime, width: int) -> str:
    """The screen at ``now`` (aware), at most ``width`` columns wide, but never below ``NARROWEST``.

    ``talk`` is what the program does just now, in words; ``leg`` is ``None`` where none runs.
    """
    width = max(width, NARROWEST)
    lines = [talk.upper()]
    if leg is not None:
        told = Telling(leg, now)
        lines[0] = f"{_clock(told, now)}  {lines[0]}"
        for block in (_trouble(told), _drain(told), _last(told), _unconfirmed(told)):
            lines += ["", *block] if block else []
    return "\n".join(part for line in lines for part in _laid_out(line, width))


def _trouble(told: Telling) -> list[str]:
    notices = [n for n in told.leg.notices if told.until - n.at < TROUBLE]
    return [f"TROUBLE  {_clock(told, n.at)} {n.text}" for n in notices[-1:]]


def _drain(told: Telling) -> list[str]:
    return [*_open_or_closed(told), *_level(told), *_output(told), *_zero(told)]


def _open_or_closed(told: Telling) -> Iterator[str]:
    now = standing(told.leg.entries)
    if now is None:
        yield "DRAIN    not told"
        return
    stands = {DrainClamped: "CLOSED", DrainOpened: "OPEN", CatheterOut: "CATHETER OUT"}[
        type(now.told)
    ]
    reason = now.told.reason if isinstance(now.told, DrainClamped) else None
    why = f" for {reason}" if reason else ""
    yield f"DRAIN    {stands} {_ago(told, now.at)}{why}{doubt(now)}"


def _level(told: Telling) -> Iterator[str]:
    levels: list[Fact[DrainLevel | DrainLevelMmhg]] = [
        *facts(told.leg.entries, DrainLevel),
        *facts(told.leg.entries, DrainLevelMmhg),
    ]
    now = max(levels, key=lambda fact: fact.at, default=None)
    ordered = order(told.leg.entries).level
    yield f"LEVEL    {value(now.told)}{doubt(now)}" if now else "LEVEL    not told"
    if ordered is not None:
        about = entry_text(ordered.told).removeprefix("Order: ")
        yield f"         order: {about}{doubt(ordered)}"


def _output(told: Telling) -> Iterator[str]:
    leg = told.leg
    hours = dict(output_of(leg).by_hour)
    hour = leg.local(told.until).replace(minute=0, second=0, microsecond=0)
    limit = order(leg.entries).hourly_limit
    at_most = f", order at most {ml(limit.told.volume_ml)}{doubt(limit)}" if limit else ""
    drained = ml(hours[hour], *hourly_limits_ml(leg.entries)) if hour in hours else "not told"
    yield f"OUT      {drained} since {_clock(told, hour)}{at_most}"


def _zero(told: Telling) -> Iterator[str]:
    held = last(told.leg.entries, DrainZeroed)
    failed = last(told.leg.entries, ZeroFailed)
    if failed is not None and (held is None or held.at < failed.at):
        yield f"ZERO     FAILED {_ago(told, failed.at)}{doubt(failed)}"
    else:
        yield f"ZERO     {_ago(told, held.at)}{doubt(held)}" if held else "ZERO     not told"


def _last(told: Telling) -> list[str]:
    shown = _newest(told)
    return ["LAST", *(_line(told, e) for e in shown)] if shown else []


def _unconfirmed(told: Telling) -> list[str]:
    open_ones = [e for e in told.leg.entries if e.state is EntryState.UNCONFIRMED]
    older = [e for e in open_ones if e not in _newest(told)]
    if not open_ones:
        return []
    more = [f"         and {len(older) - LAST} more"] if len(older) > LAST else []
    shown = [_line(told, e, state="") for e in older[-LAST:][::-1]]
    return [f"{len(open_ones)} UNCONFIRMED", *shown, *more]


def _newest(told: Telling) -> list[LegEntry]:
    return [e for e in told.leg.entries if e.counts][-LAST:][::-1]


def _line(told: Telling, e: LegEntry, state: str = " UNCONFIRMED") -> str:
    state = "" if e.confirmed else state
    return f"{_clock(told, e.happened_at)}    {entry_text(e.entry)}{state}{told.marked(e)}"


def _clock(told: Telling, at: datetime) -> str:
    """Without the date: who looks at the screen knows which day it is."""
    return f"{told.leg.local(at):%H:%M}"


def _ago(told: Telling, at: datetime) -> str:
    minutes = (told.until - at) // timedelta(minutes=1)
    hours = f"{minutes // 60} h {minutes % 60} min" if minutes >= 60 else f"{minutes} min"
    return f"{hours}, since {_clock(told, at)}"


def _laid_out(line: str, width: int) -> list[str]:
    """In lines of at most ``width`` columns; what goes on stands further in."""
    return wrap(line, width, subsequent_indent=" " * 9, drop_whitespace=True) or [""]
