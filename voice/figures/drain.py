"""The state of the drain: open or clamped, and its clamp periods.

The drain is closed from when it is clamped, both stopcocks are turned off, or the line is clamped
because it came apart; and open from when it is said to be open, or when the stopcocks are on again
and nothing else closes it. Where the catheter came out there is no drain any more, open or closed, unless
one is told of later.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from voice.entries.kinds.drain import DrainClamped, DrainOpened, MoveReason
from voice.entries.kinds.drain_care import CatheterOut, DisconnectionStep, Stopcocks
from voice.figures.facts import Fact, facts

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from voice.entries.leg import LegEntry


@dataclass(frozen=True, slots=True)
class ClampPeriod:
    """A time for which the drain was closed."""

    start_at: datetime
    end_at: datetime | None
    """``None`` while it is still clamped."""
    reason: MoveReason | None
    """Why it was clamped, where that was said."""
    confirmed: bool
    """Whether clamping and opening were both confirmed aloud."""
    by_stopcocks: bool = False
    """Whether it began with both stopcocks turned off."""
    catheter_out: bool = False
    """Whether it ended because the catheter came out."""

    def minutes(self, until: datetime) -> float:
        """Its length; an open one counts up to ``until``."""
        end_at = self.end_at or max(until, self.start_at)
        return (end_at - self.start_at).total_seconds() / 60


Turn = DrainClamped | DrainOpened | CatheterOut
_Turned = Turn | Stopcocks | DisconnectionStep


def turns(entries: Iterable[LegEntry]) -> list[Fact[Turn]]:
    """Every closing and opening, in the order in which it happened, as a clamping or an opening.

    And where the catheter came out.
    """
    entries = list(entries)
    told: list[Fact[_Turned]] = [
        *facts(entries, DrainClamped),
        *facts(entries, DrainOpened),
        *facts(entries, Stopcocks),
        *facts(entries, DisconnectionStep),
        *facts(entries, CatheterOut),
    ]
    found: list[Fact[Turn]] = []
    closed_by: set[Literal["clamp", "stopcocks"]] = set()
    for fact in sorted(told, key=lambda fact: (fact.at, fact.number)):
        turn: Turn | None = None
        match fact.told:
            case DrainClamped():
                closed_by.add("clamp")
                turn = fact.told
            case DisconnectionStep(step="line clamped"):
                closed_by.add("clamp")
                turn = DrainClamped()
            case Stopcocks(position="off"):
                closed_by.add("stopcocks")
                turn = DrainClamped()
            case Stopcocks():
                turn = DrainOpened() if closed_by == {"stopcocks"} else None
                closed_by.discard("stopcocks")
            case DrainOpened() | CatheterOut():
                closed_by.clear()
                turn = fact.told
        if turn is not None:
            found.append(Fact(fact.at, turn, fact.number, fact.confirmed))
    return found


def standing(entries: Iterable[LegEntry]) -> Fact[Turn] | None:
    """Whether the drain is clamped, open or out, and since when; ``None`` where it was not told.

    Saying again what it is already changes nothing: it has stood so since it was first said.
    """
    found = None
    for turn in turns(entries):
        if found is None or type(turn.told) is not type(found.told):
            found = turn
    return found


def clamp_periods(entries: Iterable[LegEntry]) -> tuple[ClampPeriod, ...]:
    """From each clamping to the next opening, or until the catheter came out.

    Clamping what is clamped starts no new period; opening what is not known to be clamped ends
    none.
    """
    entries = list(entries)
    stopcocks = {fact.number for fact in facts(entries, Stopcocks)}
    periods: list[ClampPeriod] = []
    for turn in turns(entries):
        is_clamped = bool(periods) and periods[-1].end_at is None
        if isinstance(turn.told, DrainClamped) and not is_clamped:
            by_stopcocks = turn.number in stopcocks
            periods.append(
                ClampPeriod(turn.at, None, turn.told.reason, turn.confirmed, by_stopcocks)
            )
        elif not isinstance(turn.told, DrainClamped) and is_clamped:
            periods[-1] = replace(
                periods[-1],
                end_at=turn.at,
                confirmed=periods[-1].confirmed and turn.confirmed,
                catheter_out=isinstance(turn.told, CatheterOut),
            )
    return tuple(periods)


def share(periods: Iterable[ClampPeriod], since: datetime, until: datetime) -> float:
    """Which part of the time from ``since`` to ``until`` the drain was closed: 0 to 1."""
    whole_s = (until - since).total_seconds()
    if whole_s <= 0:
        return 0.0
    closed_s = (
        (min(period.end_at or until, until) - max(period.start_at, since)).total_seconds()
        for period in periods
    )
    return sum(max(seconds, 0.0) for seconds in closed_s) / whole_s
