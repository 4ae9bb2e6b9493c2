"""What the pressure did after something was done about it.

It tells what followed, not what was caused: pressures fall by themselves too, and what was done in
the same half hour may have done it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from voice.figures.facts import Fact
    from voice.figures.pressure import Reading

WINDOW_S = 30 * 60.0
"""For how long before and after it, in seconds, a reading belongs to what was done.

Common practice, no source. Mannitol works within 15 to 30 min (from memory).
"""


@dataclass(frozen=True, slots=True)
class Effect:
    """One thing done, and the pressures around it."""

    done: Fact[Any]
    before: Reading | None
    """The last at or before it within `WINDOW_S`."""
    lowest: Reading | None
    """The lowest after it within `WINDOW_S`; of several, the first."""
    at_end: Reading | None
    """The last of the leg, where that comes after the lowest."""
    others: int
    """How many other things were done from the reading before to the lowest one after."""

    @property
    def held(self) -> bool | None:
        """Whether the last pressure is still under that before; ``None`` where one is missing."""
        if self.before is None or self.at_end is None:
            return None
        return self.at_end.told < self.before.told

    @property
    def minutes_to_lowest(self) -> float | None:
        """How long after it the lowest was read."""
        return None if self.lowest is None else (self.lowest.at - self.done.at).total_seconds() / 60


def effects(done: Iterable[Fact[Any]], series: Sequence[Reading]) -> tuple[Effect, ...]:
    """One for each thing done, in the order in which they were; ``series`` stands in order."""
    done = sorted(done, key=lambda fact: (fact.at, fact.number))
    window = timedelta(seconds=WINDOW_S)
    found = []
    for one in done:
        earlier = [r for r in series if one.at - window <= r.at <= one.at]
        later = [r for r in series if one.at < r.at <= one.at + window]
        before = earlier[-1] if earlier else None
        lowest = min(later, key=lambda r: r.told, default=None)
        span = (before.at if before else one.at, lowest.at if lowest else one.at)
        found.append(
            Effect(
                done=one,
                before=before,
                lowest=lowest,
                at_end=series[-1] if lowest and series[-1].at > lowest.at else None,
                others=sum(span[0] <= other.at <= span[1] for other in done if other is not one),
            )
        )
    return tuple(found)
