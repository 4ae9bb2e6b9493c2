"""When the patient left the sending unit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.leg import LegMark
from voice.figures.facts import Fact, facts

if TYPE_CHECKING:
    from collections.abc import Iterable

    from voice.entries.leg import LegEntry

_LEAVING = ("departed", "wheels up")


def departure(entries: Iterable[LegEntry]) -> Fact[LegMark] | None:
    """The first "departed", else the first "wheels up"; ``None`` where neither was told."""
    marks = facts(entries, LegMark)
    told = (fact for mark in _LEAVING for fact in marks if fact.told.mark == mark)
    return next(told, None)
