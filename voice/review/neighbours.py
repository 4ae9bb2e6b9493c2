"""Values that lie far from those measured just before and after them."""

from __future__ import annotations

from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING, NamedTuple

from voice.entries.measured import MEASURED
from voice.entries.subject import subject_of
from voice.report.wording import value
from voice.review.need import FAR, Reason

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from voice.entries.leg import LegEntry

STEPS = 4
"""So many times the usual step between two readings is far from both neighbours …"""
SHARE = 0.15
"""… if it is this share of the value as well. Both common practice, no source."""


class _Measured(NamedTuple):
    about: tuple[object, ...]
    """Only values about the same are neighbours."""
    entry: LegEntry
    number: float


class Neighbours:
    """Looks at the measured values of one leg, again and again while it is worked on.

    The values about one thing are gone over again only where one of them has changed.
    """

    def __init__(self) -> None:
        self._measured: dict[int, tuple[LegEntry, _Measured | None]] = {}
        self._found: dict[tuple[object, ...], tuple[list[_Measured], dict[int, Reason]]] = {}

    def far(self, entries: Iterable[LegEntry]) -> dict[int, Reason]:
        """By number, the measured values that lie far from those just before and after them."""
        courses: dict[tuple[object, ...], list[_Measured]] = {}
        for entry in entries:
            one = self._measured_in(entry)
            if one is not None:
                courses.setdefault(one.about, []).append(one)
        found: dict[int, Reason] = {}
        for about, course in courses.items():
            before, far = self._found.get(about, ([], {}))
            if course != before:
                far = _far(sorted(course, key=lambda one: one.entry.happened_at))
                self._found[about] = (course, far)
            found |= far
        return found

    def _measured_in(self, entry: LegEntry) -> _Measured | None:
        before, one = self._measured.get(entry.number, (None, None))
        if before is not entry:
            one = _measured(entry)
            self._measured[entry.number] = (entry, one)
        return one


def _measured(entry: LegEntry) -> _Measured | None:
    """What ``entry`` measured; ``None`` where that is nothing, or no longer counts."""
    name = MEASURED.get(entry.entry.kind)
    if name is None or not entry.counts:
        return None
    about = (*subject_of(entry.entry), getattr(entry.entry, "unit", None))
    return _Measured(about, entry, float(getattr(entry.entry, name)))


def _far(course: Sequence[_Measured]) -> dict[int, Reason]:
    """A value is far where it lies much farther from its two nearest in time than they from each other."""
    if len(course) < 3:
        return {}
    steps = [abs(one.number - other.number) for one, other in pairwise(course)]
    found = {}
    for at, (_, entry, number) in enumerate(course):
        start = min(max(at - 1, 0), len(course) - 3)
        beside = [other for i, other in enumerate(course[start : start + 3], start) if i != at]
        apart = min(abs(number - other.number) for other in beside)
        between = abs(beside[0].number - beside[1].number)
        if apart <= max(SHARE * abs(number), between):
            continue
        others = [step for i, step in enumerate(steps) if i not in {at - 1, at}]
        if not others or apart > STEPS * median(others):
            told = " and ".join(value(other.entry.entry) for other in beside)
            found[entry.number] = Reason(FAR, f"far from its neighbours, {told}")
    return found
