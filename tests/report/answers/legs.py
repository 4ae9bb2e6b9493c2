"""Legs that are asked about."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.figures.conftest import START, at, entries
from voice.entries.leg import EntryState, Leg, LegSettings
from voice.entries.said import Question
from voice.meaning.grammar import load_grammar
from voice.report.answers import answer

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

SETTINGS = LegSettings()


def leg_of(*told: tuple[float, Entry], state: EntryState = EntryState.CONFIRMED) -> Leg:
    """A leg from 14:00 on, with entries by the minute."""
    return Leg(id="asked", settings=SETTINGS, started_at=START, entries=entries(*told, state=state))


def question(text: str) -> Question:
    """What a phrase of the grammar asks."""
    (meaning,) = load_grammar().parse(text, SETTINGS)
    assert isinstance(meaning, Question)
    return meaning


def asked(text: str, leg: Leg, minute: float = 60, part: int = 0) -> str:
    """What is answered so many minutes after the start."""
    return answer(question(text), leg, at(minute), part)
