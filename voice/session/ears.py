"""Segments to decisions, with the grammar that the talk stands in."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from voice.entries.heard import SecondOpinion
from voice.hearing.faint import Raiser
from voice.meaning.decide import SHIPPED, decide
from voice.meaning.listening import Listening
from voice.meaning.two_opinions import decide_by_two, is_asked
from voice.session.patience import patience_s

if TYPE_CHECKING:
    from collections.abc import Mapping

    from voice.entries.heard import Hearing, Segment
    from voice.entries.leg import LegSettings
    from voice.hearing.listener import Listener
    from voice.meaning.decide import Thresholds
    from voice.meaning.decision import Decision
    from voice.meaning.grammar import Grammar
    from voice.session.beside import Beside
    from voice.session.models import Model

SECOND_KEPT = 5
"""So many readings of the second listener are kept with what was heard."""


class _First(NamedTuple):
    """What the first listener made of a segment, and what would be done on that alone."""

    segment: Segment
    listening: Listening
    raised: Segment
    """As it was heard."""
    hearing: Hearing
    decision: Decision


class Ears:
    """One listener for each small grammar, all ready from the start."""

    def __init__(
        self,
        listeners: Mapping[Listening, Listener],
        grammar: Grammar,
        settings: LegSettings,
        thresholds: Thresholds = SHIPPED,
        second: Beside | None = None,
    ) -> None:
        """``second`` gives a second opinion on what may be an entry."""
        self._listeners = listeners
        self._grammar = grammar
        self._settings = settings
        self._thresholds = thresholds
        self._raiser = Raiser()
        self._second = second
        self._last: _First | None = None

    @classmethod
    def load(
        cls, model: Model, grammar: Grammar, settings: LegSettings, second: Beside | None = None
    ) -> Ears:
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
        return cls(listeners, grammar, settings, model.thresholds, second)

    def make_out(self, segment: Segment, listening: Listening) -> tuple[Hearing, Decision]:
        """What may have been said, and what is to be done with it; by two opinions where there are two.

        The segment asked about last is not heard again: it was listened to in the pause that ended it.
        """
        first = self._first(segment, listening)
        if self._second is None or not is_asked(first.decision, listening):
            return first.hearing, first.decision
        found = self._second.opinion(first.raised, listening)
        if isinstance(found, SecondOpinion):  # late or failed: the first goes on alone
            return replace(first.hearing, second=found), first.decision
        decision, stand = decide_by_two(
            first.hearing, found, self._grammar, listening, self._settings, alone=first.decision
        )
        second = SecondOpinion(stand, found.alternatives[:SECOND_KEPT])
        return replace(first.hearing, second=second), decision

    def patience_s(self, segment: Segment, listening: Listening) -> float:
        """How much silence, in s, tells that no more follows what ``segment`` holds so far.

        The second listener uses that time.
        """
        first = self._first(segment, listening)
        if self._second is not None and is_asked(first.decision, listening):
            self._second.begin(first.raised, listening)
        return patience_s(first.hearing, first.decision, self._grammar, listening)

    def likely(self, segment: Segment, listening: Listening) -> Decision:
        """What will be done with it if no more is said, as far as that is known in the pause."""
        return self._first(segment, listening).decision

    def _first(self, segment: Segment, listening: Listening) -> _First:
        last = self._last
        if last is not None and last.segment is segment and last.listening is listening:
            return last
        raised = self._raiser.raised(segment)
        hearing = self._listeners[listening].hear(raised)
        decision = decide(
            hearing,
            self._grammar,
            listening,
            self._settings,
            cut=segment.cut,
            thresholds=self._thresholds,
        )
        self._last = _First(segment, listening, raised, hearing, decision)
        return self._last
