"""Where the arterial line is zeroed at another level than the pressure in the head."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.figures.consequences.rule import Spell
from voice.figures.levels import LevelsTold

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.entries.leg import Leg
    from voice.figures.levels import Levels


def levels_apart(leg: Leg) -> Iterator[Spell]:
    """From when both levels were told and differ, until they agree or one is not known any more.

    A level that changes to a third one begins it anew: it does something else to the perfusion
    pressure.
    """
    told = LevelsTold(leg.entries)
    open_spell: tuple[Spell, Levels] | None = None
    for fact in sorted([*told.arterial, *told.icp], key=lambda fact: (fact.at, fact.number)):
        levels = told.at(fact.at)
        if open_spell is not None:
            spell, before = open_spell
            if (levels.arterial, levels.icp) == (before.arterial, before.icp):
                continue
            yield Spell(spell.since, fact.at, spell.number, spell.values)
            open_spell = None
        if levels.agree is False:
            open_spell = Spell(fact.at, None, fact.number, _values(levels)), levels
    if open_spell is not None:
        yield open_spell[0]


def _values(levels: Levels) -> dict[str, str]:
    effect = (
        "with the head up, the perfusion pressure reads too high"
        if levels.arterial == "heart"
        else "the perfusion pressure is off by the height between"
    )
    return {"arterial": str(levels.arterial), "drain": str(levels.icp), "effect": effect}
