"""What was done that may change the pressure, and what the pressure did after it."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

from voice.entries.kinds.drain import DrainLevel, DrainOpened, Flushed
from voice.entries.kinds.drugs import DrugGiven, InfusionChanged, InfusionStarted
from voice.entries.kinds.patient import HeadOfBed
from voice.figures.drain import clamp_periods
from voice.figures.effects import WINDOW_S, effects
from voice.figures.facts import Fact, facts
from voice.figures.pressure import readings
from voice.meaning.drug_list import FOR_PRESSURE
from voice.meaning.grammar import load_grammar
from voice.report.telling import doubt, tenths
from voice.report.wording import entry_text, number

if TYPE_CHECKING:
    from pydantic import BaseModel

    from voice.figures.effects import Effect
    from voice.figures.pressure import Reading
    from voice.report.telling import Telling

_STANDING: tuple[type[BaseModel], ...] = (DrainLevel, HeadOfBed)
"""What is set and stays: only a change of it does something."""


def done(told: Telling) -> list[Fact[Any]]:
    """Each thing done that may change the pressure, in the order in which it happened."""
    entries = told.leg.entries
    drugs = told.leg.settings.pressure_drugs or load_grammar().drugs_of(*FOR_PRESSURE)
    given: list[Fact[DrugGiven | InfusionStarted | InfusionChanged]] = [
        *facts(entries, DrugGiven),
        *facts(entries, InfusionStarted),
        *facts(entries, InfusionChanged),
    ]
    found: list[Fact[Any]] = [f for f in given if f.told.drug in drugs]
    opened = {period.end_at for period in clamp_periods(entries)}
    found += [f for f in facts(entries, DrainOpened) if f.at in opened]
    found += facts(entries, Flushed)
    for kind in _STANDING:
        found += [b for a, b in pairwise(facts(entries, kind)) if a.told != b.told]
    return sorted(found, key=lambda fact: (fact.at, fact.number))


def answers(told: Telling) -> list[str]:
    """A line for each thing done, with the pressure before and after it.

    None where no pressure was told.
    """
    series = readings(told.leg.entries, told.leg.settings.pressure_unit)
    if not series:
        return []
    return [
        f"{told.time(one.done.at)} {entry_text(one.done.told)}{doubt(one.done)}: "
        f"{_before(told, one)}, {_after(told, one)}."
        for one in effects(done(told), series)
    ]


def _before(told: Telling, one: Effect) -> str:
    if one.before is None:
        return f"no ICP in the {number(WINDOW_S / 60)} min before"
    return f"ICP {tenths(one.before.told)} before{_doubts(told, one.before)}"


def _after(told: Telling, one: Effect) -> str:
    if one.lowest is None:
        return f"none in the {number(WINDOW_S / 60)} min after"
    lowest = f"lowest {tenths(one.lowest.told)} after {one.minutes_to_lowest:.0f} min"
    parts = [f"{lowest}{_doubts(told, one.lowest)}"]
    if one.at_end is not None:
        parts.append(f"{tenths(one.at_end.told)} at the end{_held(one)}{_doubts(told, one.at_end)}")
    if one.others:
        parts.append(f"other things done in that time: {one.others}")
    return ", ".join(parts)


def _held(one: Effect) -> str:
    """Whether the pressure is lower at the end than before, and whether it ever was."""
    if one.held is None or one.before is None or one.lowest is None:
        return ""
    if one.lowest.told < one.before.told:
        return ", still lower" if one.held else ", no longer lower"
    return ", lower" if one.held else ", not lower"


def _doubts(told: Telling, reading: Reading) -> str:
    """Why it is not to be taken as it stands."""
    return f"{doubt(reading)}{told.marked(reading)}"
