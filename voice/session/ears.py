"""Segments to decisions, with the grammar that the talk stands in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.hearing.faint import Raiser
from voice.meaning.decide import SHIPPED, decide
from voice.meaning.listening import Listening
from voice.session.patience import patience_s

if TYPE_CHECKING:
    from collections.abc import Mapping

    from voice.entries.heard import Hearing, Segment
    from voice.entries.leg import LegSettings
    from voice.hearing.listener import Listener
    from voice.meaning.decide import Thresholds
    from voice.meaning.decision import Decision
    from voice.meaning.grammar import Grammar
    from voice.session.models import Model


class Ears:
    """One listener for each small grammar, all ready from the start."""

    def __init__(
        self,
        listeners: Mapping[Listening, Listener],
        grammar: Grammar,
        settings: LegSettings,
        thresholds: Thresholds = SHIPPED,
    ) -> None:
        self._listeners = listeners
        self._grammar = grammar
        self._settings = settings
        self._thresholds = thresholds
        self._raiser = Raiser()
        self._last: tuple[Segment, Listening, Hearing, Decision] | None = None

    @classmethod
    def load(cls, model: Model, grammar: Grammar, settings: LegSettings) -> Ears:
        """Load the model once for each set of phrases; takes a second or two.

        Raises ``ModelFolderError`` where the model cannot be used and ``GrammarWordsError`` where
        the shipped one lacks words of the grammar.
        """
        listeners: dict[Listening, Listener] = {}
        for state in Listening:
            alike = grammar.alike(state)
            if alike not in listeners:
                listeners[alike] = model.listener(grammar, alike)
            listeners[state] = listeners[alike]
        return cls(listeners, grammar, settings, model.thresholds)

    def make_out(self, segment: Segment, listening: Listening) -> tuple[Hearing, Decision]:
        """What may have been said, and what is to be done with it.

        The segment asked about last is not heard again: it was listened to in the pause that ended it.
        """
        if self._last is not None and self._last[0] is segment and self._last[1] is listening:
            return self._last[2:]
        hearing = self._listeners[listening].hear(self._raiser.raised(segment))
        decision = decide(
            hearing,
            self._grammar,
            listening,
            self._settings,
            cut=segment.cut,
            thresholds=self._thresholds,
        )
        self._last = (segment, listening, hearing, decision)
        return hearing, decision

    def patience_s(self, segment: Segment, listening: Listening) -> float:
        """How much silence, in s, tells that no more follows what ``segment`` holds so far."""
        hearing, decision = self.make_out(segment, listening)
        return patience_s(hearing, decision, self._grammar, listening)
