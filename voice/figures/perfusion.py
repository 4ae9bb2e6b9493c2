"""Cerebral perfusion pressure: mean arterial less intracranial, where the two are near in time."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple

from voice.entries.kinds.vitals import BloodPressure, MeanPressure
from voice.figures.facts import Fact, facts
from voice.figures.levels import Levels, LevelsTold
from voice.figures.pressure import readings
from voice.figures.units import mean_arterial_mmhg

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from voice.entries.leg import LegEntry

WINDOW_S = 5 * 60.0
"""How far apart in time, in seconds, the two pressures may be.

Common practice, no source: both are meant to be read together; spoken one after the other with
read-backs and interruptions between, they may lie some minutes apart.
"""


class Arterial(NamedTuple):
    """A mean arterial pressure."""

    mmhg: float
    worked_out: bool
    """Out of systolic and diastolic, where the monitor's own mean was not said."""


def arterial(entries: Iterable[LegEntry]) -> tuple[Fact[Arterial], ...]:
    """All mean arterial pressures, said or worked out, in the order in which they were measured."""
    entries = list(entries)
    said = [
        Fact(f.at, Arterial(f.told.value_mmhg, False), f.number, f.confirmed)
        for f in facts(entries, MeanPressure)
    ]
    worked_out = [
        Fact(
            f.at,
            Arterial(mean_arterial_mmhg(f.told.systolic_mmhg, f.told.diastolic_mmhg), True),
            f.number,
            f.confirmed,
        )
        for f in facts(entries, BloodPressure)
    ]
    return tuple(sorted([*said, *worked_out], key=lambda fact: (fact.at, fact.number)))


@dataclass(frozen=True, slots=True)
class Perfusion:
    """One cerebral perfusion pressure, with what it was worked out from."""

    at: datetime
    """When the intracranial pressure was read."""
    cpp_mmhg: float
    mean_arterial: Fact[Arterial]
    icp: Fact[float]
    """In mmHg."""
    levels: Levels
    """At which level each was zeroed when it was measured."""

    @property
    def confirmed(self) -> bool:
        """Whether both pressures were confirmed aloud."""
        return self.mean_arterial.confirmed and self.icp.confirmed


def perfusion(entries: Iterable[LegEntry], window_s: float = WINDOW_S) -> tuple[Perfusion, ...]:
    """One for each intracranial pressure that has a mean arterial pressure within the window.

    Of several the nearest in time is taken; of two as near, the one that was said rather than
    worked out. CPP = MAP - ICP (Brain Trauma Foundation, 4th edition, 2016). It holds as written
    only where both were zeroed at the same level: see `voice.figures.levels`.
    """
    entries = list(entries)
    means, levels = arterial(entries), LevelsTold(entries)
    times = [mean.at for mean in means]
    window = timedelta(seconds=window_s)
    found = []
    for icp in readings(entries, "mmHg"):
        near = means[bisect_left(times, icp.at - window) : bisect_right(times, icp.at + window)]

        def far(mean: Fact[Arterial], icp: Fact[float] = icp) -> tuple[timedelta, bool]:
            return abs(mean.at - icp.at), mean.told.worked_out

        nearest = min(near, key=far, default=None)
        if nearest is not None:
            at_level = replace(levels.at(icp.at), arterial=levels.at(nearest.at).arterial)
            found.append(Perfusion(icp.at, nearest.told.mmhg - icp.told, nearest, icp, at_level))
    return tuple(found)
