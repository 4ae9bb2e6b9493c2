"""The drip test: the pressure, estimated by raising the chamber until the drain drips no more.

The chamber is raised in steps of 1 to 2 cm (common practice, no source). Dripping at 9 and not at
10 cmH2O puts the pressure between the two, at the reference to which the drain is levelled. What
does not drip at any level tells nothing: its pressure is lower, or it is blocked.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from voice.entries.kinds.drain import DrainLevelled, DripsAt, Flushed, NoDrip, PressureUnit
from voice.entries.kinds.drain_care import CatheterOut, LineDisconnected, Occlusion
from voice.figures.facts import Fact, facts
from voice.figures.units import convert

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from voice.entries.frozen import Frozen
    from voice.entries.leg import LegEntry

TEST_S = 10 * 60.0
"""The longest time between two steps of one test, in seconds. Common practice, no source."""

_Step = Fact[DripsAt | NoDrip]
_STEPS: tuple[type[Frozen], ...] = (DripsAt, NoDrip)
_BREAKS: tuple[type[Frozen], ...] = (
    Flushed,
    Occlusion,
    LineDisconnected,
    CatheterOut,
    DrainLevelled,
)


@dataclass(frozen=True, slots=True)
class DripTest:
    """One test, of one step or more."""

    steps: tuple[_Step, ...]
    """In the order in which they happened; never empty."""

    @property
    def at(self) -> datetime:
        """When it ended."""
        return self.steps[-1].at

    @property
    def number(self) -> int:
        """Of the entry that ended it."""
        return self.steps[-1].number

    @property
    def confirmed(self) -> bool:
        """Whether each of its steps was confirmed aloud."""
        return all(step.confirmed for step in self.steps)

    @property
    def dripped_cmh2o(self) -> float | None:
        """The highest level at which it dripped; ``None`` where it dripped at none."""
        levels = (s.told.level_cmh2o for s in self.steps if isinstance(s.told, DripsAt))
        return max(levels, default=None)

    @property
    def stopped_cmh2o(self) -> float | None:
        """The lowest level at which it did not; ``None`` where it dripped at all."""
        levels = (s.told.level_cmh2o for s in self.steps if isinstance(s.told, NoDrip))
        return min(levels, default=None)

    @property
    def contradicts_itself(self) -> bool:
        """Whether it dripped as high as it did not, or higher."""
        dripped, stopped = self.dripped_cmh2o, self.stopped_cmh2o
        return dripped is not None and stopped is not None and dripped >= stopped

    def between(self, unit: PressureUnit) -> tuple[float, float | None] | None:
        """The pressure: at least the first, and below the second where that is known.

        ``None`` where the test gives no estimate: it never dripped, or it contradicts itself.
        """
        if self.dripped_cmh2o is None or self.contradicts_itself:
            return None
        stopped = self.stopped_cmh2o
        return (
            convert(self.dripped_cmh2o, "cmH2O", unit),
            None if stopped is None else convert(stopped, "cmH2O", unit),
        )


def drip_tests(entries: Iterable[LegEntry]) -> tuple[DripTest, ...]:
    """All tests, in the order in which they happened.

    Steps within `TEST_S` are one test, unless something happened between them that may have changed
    the pressure or the way to it.
    """
    entries = list(entries)
    told: list[Fact[Any]] = [f for kind in (*_STEPS, *_BREAKS) for f in facts(entries, kind)]
    tests: list[list[_Step]] = []
    broken = True
    for fact in sorted(told, key=lambda fact: (fact.at, fact.number)):
        if isinstance(fact.told, _BREAKS):
            broken = True
        elif broken or (fact.at - tests[-1][-1].at).total_seconds() > TEST_S:
            tests.append([fact])
            broken = False
        else:
            tests[-1].append(fact)
    return tuple(DripTest(tuple(test)) for test in tests)
