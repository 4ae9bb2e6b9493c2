"""What the look of the fluid has as its consequence."""

from __future__ import annotations

from datetime import timedelta
from itertools import groupby, zip_longest
from typing import TYPE_CHECKING

from voice.entries.kinds.drain import CsfClarity, CsfColour
from voice.entries.kinds.leg import UnitCalled
from voice.entries.kinds.patient import PatientEvent, Sedation, SedationScore
from voice.figures.consequences.rule import Spell
from voice.figures.consequences.runs import counting
from voice.figures.disconnection import WHO_CAN_HELP

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.entries.leg import Leg, LegEntry

AGITATED_BEFORE = timedelta(minutes=15)
"""How long before a colour the patient may have been told to be agitated for it to be the colour's
context (common practice, no source: what strains a vein shows once the tubing is through)."""

AGITATED_AFTER = timedelta(minutes=5)
"""How long after it: the two are told as the hands allow (common practice, no source)."""

WORTH_A_CALL = frozenset({"red", "bloody", "cloudy"})
"""Looks for which local protocol may ask for a call (common practice, no source)."""


def worth_a_call(leg: Leg) -> Iterator[Spell]:
    """Fluid that looks so, until it looks otherwise or a call was told."""
    calls = [
        one.happened_at
        for one in counting(leg, UnitCalled)
        if isinstance(one.entry, UnitCalled) and one.entry.whom in WHO_CAN_HELP
    ]
    for kind in (CsfColour, CsfClarity):
        groups = [(seen, list(told)) for seen, told in groupby(counting(leg, kind), look)]
        turns = [told[0].happened_at for _, told in groups[1:]]
        for (seen, told), turn in zip_longest(groups, turns):
            if seen not in WORTH_A_CALL:
                continue
            since = told[0].happened_at
            called = [at for at in calls if at >= since][:1]
            until = min(called + ([turn] if turn else []), default=None)
            marked = () if called else tuple(one.number for one in told)
            yield Spell(since, until, told[0].number, {"look": seen}, marked)


def look(one: LegEntry) -> str:
    """What an entry on the look of the fluid says."""
    match one.entry:
        case CsfColour(colour=seen) | CsfClarity(clarity=seen):
            return seen
    raise AssertionError(one)


def pink_while_agitated(leg: Leg) -> Iterator[Spell]:
    """Fluid that was pink while the patient was agitated: the colour keeps that context."""
    told = counting(leg, PatientEvent, Sedation, SedationScore)
    awake = [
        (one.happened_at, agitated) for one in told if (agitated := _agitated(one)) is not None
    ]
    for pink in counting(leg, CsfColour):
        if look(pink) != "pink":
            continue
        at = pink.happened_at
        before = [(when, agitated) for when, agitated in awake if when <= at][-1:]
        around = [
            *(when for when, agitated in before if agitated and at - when <= AGITATED_BEFORE),
            *(when for when, agitated in awake if agitated and at < when <= at + AGITATED_AFTER),
        ]
        for since in around[:1]:
            yield Spell(since, since, pink.number, marked=(pink.number,))


def _agitated(one: LegEntry) -> bool | None:
    """Whether an entry tells of agitation, or of its end; ``None`` where of neither."""
    match one.entry:
        case PatientEvent(event="agitation") | Sedation(state="combative" | "restless"):
            return True
        case PatientEvent(event="settled") | Sedation():
            return False
        case SedationScore(score=score):
            return score > 0
        case _:
            return None
