"""Invented legs, told entry by entry, and what the table makes of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.figures.conftest import START, at, entries
from voice.entries.kinds.drain import Pressure
from voice.entries.leg import Leg, LegEntry, LegSettings
from voice.figures.consequences import marks, open_states, remarks

if TYPE_CHECKING:
    from datetime import datetime

    from voice.entries.kinds import Entry

__all__ = ["START", "at"]


def icp(value: float) -> Pressure:
    """A pressure in mmHg."""
    return Pressure(value=value, unit="mmHg")


def leg_of(told: tuple[LegEntry, ...], settings: LegSettings | None = None) -> Leg:
    """A leg from 14:00 on with these entries."""
    return Leg(id="told", settings=settings or LegSettings(), started_at=START, entries=tuple(told))


def leg(*told: tuple[float, Entry], settings: LegSettings | None = None) -> Leg:
    """A leg from 14:00 on, each entry by the minute at which it happened and was said."""
    return leg_of(entries(*told), settings)


def changed(leg: Leg, number: int, **update: object) -> Leg:
    """The leg with one of its entries changed."""
    found = tuple(
        one.model_copy(update=update) if one.number == number else one for one in leg.entries
    )
    return leg.model_copy(update={"entries": found})


def said(leg: Leg, rule: str, number: int | None = None) -> list[str]:
    """What a rule says with an entry, by default the last, as soon as it is kept."""
    number = number or leg.entries[-1].number
    now = max(one.spoken_at for one in leg.entries if one.number <= number)
    return [one.text for one in remarks(leg, number, now) if one.rule == rule]


def said_at(leg: Leg, rule: str) -> list[int]:
    """With which entries a rule says something, when all are kept one after the other."""
    return [one.number for one in leg.entries if said(leg, rule, one.number)]


def marked(leg: Leg, rule: str) -> dict[int, str]:
    """The entries that a rule marks, with the mark."""
    return {
        number: sentence.text(clock)
        for number, sentences in marks(leg).items()
        for sentence in sentences
        if sentence.rule == rule
    }


def open_now(leg: Leg, rule: str, minute: float = 120) -> list[str]:
    """What a rule lists as open at a minute."""
    return [one.text(clock) for one in open_states(leg, at(minute)) if one.rule == rule]


def clock(moment: datetime) -> str:
    """A moment as it is written in these tests."""
    return f"{moment:%H:%M}"
