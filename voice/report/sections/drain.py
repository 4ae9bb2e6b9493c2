"""How the drain stands, how it was cared for, and for how long it was closed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.drain import (
    DrainLevel,
    DrainLevelled,
    DrainZeroed,
    OpeningPressure,
    Waveform,
)
from voice.entries.kinds.drain_care import (
    CatheterOut,
    CatheterPlaced,
    ChamberUpright,
    DrainKind,
    Dressing,
    MountFits,
    SpareCables,
    Stopcocks,
    TubingChecked,
    TubingSecured,
)
from voice.entries.kinds.patient import HeadOfBed
from voice.entries.kinds.vitals import ArterialZeroed
from voice.figures.drain import ClampPeriod, clamp_periods, share, standing
from voice.figures.facts import confirmed_only
from voice.figures.order import order
from voice.report.telling import doubt, whole
from voice.report.wording import entry_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pydantic import BaseModel

    from voice.report.telling import Telling

CARE = (
    MountFits,
    SpareCables,
    Dressing,
    TubingChecked,
    TubingSecured,
    Stopcocks,
    ChamberUpright,
)
SETTING_UP = (DrainLevel, DrainLevelled, DrainZeroed, ArterialZeroed)
"""What is done anew after each move; the last of each stands under how the drain is now."""


def catheter(told: Telling) -> list[str]:
    """Since when it is there, of which kind, and whether it came out."""
    return [
        *_timeless(told, CatheterPlaced, OpeningPressure, DrainKind),
        *told.if_told(CatheterOut),
    ]


def stands(told: Telling) -> list[str]:
    """Whether it is open, and how it was last set up."""
    now = standing(told.leg.entries)
    return [
        f"{entry_text(now.told)} since {told.time(now.at)}{doubt(now)}."
        if now
        else "Whether it is open was not told.",
        told.last(DrainLevel, "Drain level not told."),
        told.last(DrainLevelled, "Levelling not told."),
        told.last(DrainZeroed, "Zeroing not told."),
        *told.if_told(ArterialZeroed),
        told.last(HeadOfBed, "Head of bed not told."),
        *told.if_told(Waveform),
    ]


def _timeless(told: Telling, *of: type[BaseModel]) -> list[str]:
    """The latest of each kind, without the time: it holds for the whole leg."""
    last = (e for kind in of for e in told.counting(kind)[-1:])
    return [f"{entry_text(e.entry)}{doubt(e)}." for e in last]


def care(told: Telling) -> list[str]:
    """What was looked after, with each setting-up where that was told more than once."""
    repeated = (kind for kind in SETTING_UP if len(told.counting(kind)) > 1)
    return told.in_order(*CARE, *repeated)


def clamped(told: Telling) -> list[str]:
    """The times for which the drain was closed, each beside the ordered limit if it was longer."""
    limit = order(told.leg.entries).clamp_limit
    lines = []
    periods = clamp_periods(told.leg.entries)
    for period in periods:
        end = f"to {told.time(period.end_at)}" if period.end_at else "and still clamped"
        if period.catheter_out:
            end += ", when the catheter came out"
        why = _why(period)
        minutes = period.minutes(told.until)
        over = ""
        if limit is not None and minutes > limit.told.minutes:
            over = f", longer than the {limit.told.minutes} min ordered"
        written = whole(minutes, *([] if limit is None else [limit.told.minutes]))
        length = f"{written} min{_or_more(told, period)}{f' {why}' if why else ''}"
        lines.append(f"{told.time(period.start_at)} {end}, {length}{over}{doubt(period)}.")
    if not lines:
        return []
    if not all(period.confirmed for period in periods):
        sure = clamp_periods(confirmed_only(told.leg.entries))
        lines.append(f"Without unconfirmed entries: {_in_all(told, sure)}")
    return [*lines, f"In all {_in_all(told, periods)}"]


def _in_all(told: Telling, periods: Sequence[ClampPeriod]) -> str:
    """How long it was closed, the longest of several times, and which part of the leg that is."""
    lengths_min = [period.minutes(told.until) for period in periods]
    of_leg = share(periods, told.leg.started_at, told.until)
    longest = f", longest {max(lengths_min):.0f} min" if len(periods) > 1 else ""
    by_why: dict[str, float] = {}
    for period, minutes in zip(periods, lengths_min, strict=True):
        why = _why(period) or "no reason told"
        by_why[why] = by_why.get(why, 0.0) + minutes
    parts = (f"{why} {minutes:.0f}" for why, minutes in by_why.items())
    split = f" ({', '.join(parts)})" if len(by_why) > 1 else ""
    more = _or_more(told, *periods)
    return f"{sum(lengths_min):.0f} min{more}{split}{longest}; {of_leg:.0%} of the leg."


def _or_more(told: Telling, *periods: ClampPeriod) -> str:
    """Said where one was not over by the last that is known of the leg."""
    return " or more" if told.breaks_off and any(one.end_at is None for one in periods) else ""


def _why(period: ClampPeriod) -> str:
    """What it was closed for, or by; empty where that was not told."""
    if period.reason:
        return f"for {period.reason}"
    return "by stopcocks" if period.by_stopcocks else ""
