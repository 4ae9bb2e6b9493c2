"""The Glasgow Coma Scale: whether a total that was told agrees with the parts that were told."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple

from voice.entries.kinds.neuro import ComaParts, ComaScore
from voice.figures.facts import Fact, facts

if TYPE_CHECKING:
    from collections.abc import Iterable

    from voice.entries.leg import LegEntry

WINDOW_S = 5 * 60.0
"""How far apart, in seconds, total and parts may be to be of one check.

Common practice, no source.
"""


def totals(parts: ComaParts) -> tuple[int, ...]:
    """The totals that these parts can be told as.

    With a tube the verbal part cannot be tested: some leave it out ("7T"), some count it as 1 (common
    practice, no source).
    """
    if parts.verbal == "tube":
        return (parts.eyes + parts.motor, parts.eyes + parts.motor + 1)
    return (parts.eyes + parts.verbal + parts.motor,)


class Disagreement(NamedTuple):
    """A total, and parts of the same check that do not add up to it."""

    score: Fact[ComaScore]
    parts: Fact[ComaParts]


def disagreements(entries: Iterable[LegEntry]) -> tuple[Disagreement, ...]:
    """Each total that is not among the `totals` of the parts nearest to it within `WINDOW_S`."""
    entries = list(entries)
    all_parts = facts(entries, ComaParts)
    window = timedelta(seconds=WINDOW_S)
    found = []
    for score in facts(entries, ComaScore):
        near = [parts for parts in all_parts if abs(parts.at - score.at) <= window]
        nearest = min(near, key=lambda parts: abs(parts.at - score.at), default=None)
        if nearest and score.told.total not in totals(nearest.told):
            found.append(Disagreement(score, nearest))
    return tuple(found)
