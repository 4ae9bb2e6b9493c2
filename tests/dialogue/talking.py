"""A talk for tests: says things to the machine and remembers what it asked to be done."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from voice.dialogue.actions import Action, Say
from voice.dialogue.events import CommandHeard, Event, Reminder, TwoHeard, heard_as_event
from voice.dialogue.machine import step
from voice.dialogue.state import DialogueState
from voice.dialogue.words import GrammarWords
from voice.entries.leg import LegSettings
from voice.entries.reminder import ReminderKey
from voice.entries.said import Statement, Talk
from voice.meaning.checklist import load_checklists
from voice.meaning.decision import Heard
from voice.meaning.grammar import load_grammar

if TYPE_CHECKING:
    from voice.entries.said import Meaning

SETTINGS = LegSettings()
CLOSED = Reminder(
    ReminderKey(rule="drain closed", since=datetime(2030, 5, 1, 12, tzinfo=UTC)),
    "The drain is still closed.",
)
"""A reminder."""
WORDS = GrammarWords(SETTINGS, load_grammar(), load_checklists(load_grammar(), SETTINGS))


def meaning_of(text: str) -> Meaning:
    """What a phrase of the grammar means."""
    (meaning,) = load_grammar().parse(text, SETTINGS)
    return meaning


def statement_of(text: str) -> Statement:
    """The entry that a phrase makes."""
    meaning = meaning_of(text)
    assert isinstance(meaning, Statement)
    return meaning


def heard(text: str) -> Event:
    """A phrase as the event that it is."""
    return heard_as_event(Heard(text=text, meaning=meaning_of(text)))


def two(first: str, second: str) -> TwoHeard:
    """Two phrases that could not be told apart."""
    return TwoHeard(
        Heard(text=first, meaning=meaning_of(first)), Heard(text=second, meaning=meaning_of(second))
    )


@dataclass
class Talking:
    """A running talk."""

    state: DialogueState = field(default_factory=DialogueState)
    at_s: float = 0.0

    def on(self, event: Event, after_s: float = 1.0) -> tuple[Action, ...]:
        """What is asked to be done on ``event``."""
        self.at_s += after_s
        self.state, actions = step(self.state, event, self.at_s, WORDS)
        return actions

    def hears(self, text: str) -> tuple[Action, ...]:
        """What is asked to be done when a phrase is said."""
        return self.on(heard(text))

    def says(self, event: Event | str, after_s: float = 1.0) -> str:
        """What is spoken."""
        actions = self.on(heard(event) if isinstance(event, str) else event, after_s)
        return " / ".join(action.text for action in actions if isinstance(action, Say))


def started() -> Talking:
    """A talk in a leg that has just started."""
    talking = Talking()
    talking.on(CommandHeard(Talk.START_LEG))
    return talking
