"""What no drug on record has as its consequence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.drugs import DrugGiven, InfusionChanged, InfusionStarted, LastDose
from voice.figures.consequences.rule import Spell
from voice.figures.consequences.runs import counting

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.entries.leg import Leg


def no_antibiotic(leg: Leg) -> Iterator[Spell]:
    """From the start of the leg to the first antibiotic of which a dose was told.

    Which drugs are antibiotics, the leg's settings say; where they name none, nothing is missing.
    """
    known = set(leg.settings.antibiotics)
    if not known:
        return
    drugs = counting(leg, DrugGiven, InfusionStarted, InfusionChanged, LastDose)
    told = [one.happened_at for one in drugs if getattr(one.entry, "drug", None) in known]
    if not told or told[0] > leg.started_at:
        yield Spell(leg.started_at, told[0] if told else None)
