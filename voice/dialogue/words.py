"""The entries in words, for one leg's settings."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

from voice.meaning.numbers import digit_words
from voice.meaning.readback import ask_between, read_back

if TYPE_CHECKING:
    from collections.abc import Mapping

    from voice.entries.leg import LegSettings
    from voice.entries.said import Correction, Statement
    from voice.meaning.checklist import Checklist
    from voice.meaning.decision import Heard
    from voice.meaning.grammar import Grammar

_UNIT_WORDS = {"mmHg": "millimetres of mercury", "cmH2O": "centimetres of water"}


class Words(Protocol):
    """How the talk puts what it has to say about an entry."""

    @property
    def pressure_unit(self) -> str:
        """The unit in which pressures are taken."""

    def read_back(self, said: Statement | Correction) -> str:
        """An entry, its value last and digit by digit."""

    def question(self, first: Heard, second: Heard) -> str:
        """The question between two readings."""

    def refusal(self, statement: Statement) -> str | None:
        """Why this is not taken though it can be said; ``None``: it is taken."""

    def number(self, value: int) -> str:
        """A number digit by digit."""

    def checklist(self, name: str) -> Checklist:
        """The check list of this name."""


@dataclass(frozen=True, slots=True)
class GrammarWords:
    """The words of the grammar's read-backs."""

    settings: LegSettings
    grammar: Grammar
    checklists: Mapping[str, Checklist] = field(default_factory=dict)
    long: bool = False
    """Whether entries are read back with their name in full and always with their unit."""

    @property
    def pressure_unit(self) -> str:
        """The unit in which pressures are taken."""
        return _UNIT_WORDS[self.settings.pressure_unit]

    def read_back(self, said: Statement | Correction) -> str:
        """An entry, its value last and digit by digit."""
        return read_back(said, self.settings, self.grammar, long=self.long)

    def question(self, first: Heard, second: Heard) -> str:
        """The question between two readings."""
        return ask_between(first.meaning, second.meaning, self.settings, self.grammar)

    def refusal(self, statement: Statement) -> str | None:
        """Why this is not taken though it can be said; ``None``: it is taken."""
        return self.grammar.refusal(statement.entry, self.settings)

    def number(self, value: int) -> str:
        """A number digit by digit."""
        return digit_words(value)

    def checklist(self, name: str) -> Checklist:
        """The check list of this name."""
        return self.checklists[name]
