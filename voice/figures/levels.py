"""At which level pressures are zeroed, and what it does to the perfusion pressure.

A transducer at the heart reads higher than one at the tragus, by the weight of the column between the
two. The perfusion pressure takes the intracranial pressure, which is zeroed at the head, from an
arterial one; where that was zeroed at the heart and the head is up, it comes out too high.

Source, found by search and read in extracts only: the joint position statement on the calculation of
cerebral perfusion pressure by the Neuroanaesthesia and Critical Care Society of Great Britain and
Ireland and the Society of British Neurological Surgeons (Br J Anaesth 2015; 115: 487-488, volume and
pages from memory). It endorses the arterial transducer at the level of the middle cranial fossa,
which the tragus approximates, and says that what the brain gets of a height cannot be worked out
reliably. So nothing is corrected here: it is told what the transducer reads too much.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from math import radians, sin
from typing import TYPE_CHECKING, Any, TypeVar

from voice.entries.kinds.drain import DrainLevel, DrainLevelled
from voice.entries.kinds.patient import HeadOfBed
from voice.entries.kinds.vitals import ArterialZeroed
from voice.figures.facts import Fact, facts
from voice.figures.units import level_error_mmhg

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from voice.entries.kinds.drain import Reference
    from voice.entries.kinds.vitals import ArterialReference
    from voice.entries.leg import LegEntry

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Levels:
    """At which level each pressure is zeroed, and how far up the head is; ``None``: not told."""

    arterial: ArterialReference | None = None
    icp: Reference | None = None
    head_of_bed_deg: int | None = None

    @property
    def agree(self) -> bool | None:
        """Whether both are zeroed at one level; ``None`` where one of them was not told."""
        if self.arterial is None or self.icp is None:
            return None
        return self.arterial == self.icp


class LevelsTold:
    """What an unfolding leg tells of levels."""

    def __init__(self, entries: Iterable[LegEntry]) -> None:
        """``entries`` are those of a leg."""
        entries = list(entries)
        self.arterial = facts(entries, ArterialZeroed)
        self.icp = icp_references(entries)
        self._head_of_bed = facts(entries, HeadOfBed)

    def at(self, at: datetime) -> Levels:
        """The levels at a moment, each by what was told of it last.

        An arterial line that was zeroed without saying where is at no known level.
        """
        arterial, icp = _last_by(self.arterial, at), _last_by(self.icp, at)
        head_of_bed = _last_by(self._head_of_bed, at)
        return Levels(
            arterial=arterial.told.reference if arterial else None,
            icp=icp.told.reference if icp else None,
            head_of_bed_deg=head_of_bed.told.angle_deg if head_of_bed else None,
        )


def icp_references(entries: Iterable[LegEntry]) -> tuple[Fact[DrainLevel | DrainLevelled], ...]:
    """Each telling of the reference of the drain, to which its transducer is levelled too.

    Levelled without saying to what, the drain stands at the reference that was told before.
    """
    entries = list(entries)
    told: list[Fact[Any]] = [*facts(entries, DrainLevel), *facts(entries, DrainLevelled)]
    with_it = (fact for fact in told if fact.told.reference is not None)
    return tuple(sorted(with_it, key=lambda fact: (fact.at, fact.number)))


def too_high_mmhg(along_body_cm: float, head_of_bed_deg: float) -> float:
    """By how much a transducer at the heart reads more than one at the tragus, in mmHg.

    ``along_body_cm`` is how far the one is from the other along the body, which lies as steep as the
    head of the bed (0 to 90 degrees). Hydrostatics, for the water in the line: at 30 degrees 10 cm
    along the body are 5 cm up, 3.68 mmHg.
    """
    return level_error_mmhg(along_body_cm * sin(radians(head_of_bed_deg)))


def _last_by(told: Sequence[Fact[T]], at: datetime) -> Fact[T] | None:
    """The last of these, which stand in order, that was told by then."""
    place = bisect_right(told, at, key=lambda fact: fact.at)
    return told[place - 1] if place else None
