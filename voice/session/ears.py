"""Segments to decisions, with the grammar that the talk stands in."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from voice.entries.heard import Alternative, Hearing, SecondOpinion
from voice.hearing.faint import Raiser
from voice.hearing.listener import ALTERNATIVES
from voice.hearing.segmenter import joined
from voice.meaning.decide import SHIPPED, UNKNOWN_WORD, decide, is_unknown
from voice.meaning.decision import Accept, NotUnderstood, confirms_and
from voice.meaning.listening import Listening
from voice.meaning.phrase import STATEMENT_STATES
from voice.meaning.two_opinions import decide_by_two, is_asked
from voice.session.patience import patience_s

if TYPE_CHECKING:
    from collections.abc import Mapping

    from voice.entries.heard import Segment
    from voice.entries.leg import LegSettings
    from voice.entries.said import Meaning
    from voice.hearing.listener import Listener
    from voice.meaning.decide import Thresholds
    from voice.meaning.decision import Decision
    from voice.meaning.grammar import Grammar
    from voice.meaning.unfinished import Lacks
    from voice.session.beside import Beside
    from voice.session.models import Model

SECOND_KEPT = 5
"""So many readings of the second listener are kept with what was heard."""
SAID_AGAIN_S = 30.0
"""Within so long after it was not understood, what the first listener is sure of again is taken."""


class _First(NamedTuple):
    """What the first listener made of a segment, and what would be done on that alone."""

    segment: Segment
    listening: Listening
    raised: Segment
    """As it was heard."""
    hearing: Hearing
    decision: Decision


class _Doubted(NamedTuple):
    """What the first listener was sure of, and the second kept from being taken."""

    segment: Segment
    meaning: Meaning


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
        self._doubted: _Doubted | None = None

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
        if confirms_and(decision) and not confirms_and(first.decision):
            decision = first.decision  # what else it may be, is known of the first list only
        if isinstance(decision, NotUnderstood) and self._is_said_again(first):
            decision = first.decision
        second = SecondOpinion(stand, found.alternatives[:SECOND_KEPT])
        return replace(first.hearing, second=second), decision

    def _is_said_again(self, first: _First) -> bool:
        """Whether the first listener was as sure of the same a moment ago, and it was to be said again.

        A word that the second does not know, the name of a drug perhaps, would else never be taken.
        """
        if not isinstance(first.decision, Accept):
            return False
        before, meaning = self._doubted, first.decision.heard.meaning
        if (
            before is not None
            and before.segment is not first.segment
            and before.meaning == meaning
            and first.segment.start_s - before.segment.end_s < SAID_AGAIN_S
        ):
            return True
        self._doubted = _Doubted(first.segment, meaning)
        return False

    def patience_s(self, segment: Segment, listening: Listening) -> float:
        """How much silence, in s, tells that no more follows what ``segment`` holds so far.

        The second listener uses that time.
        """
        first = self._first(segment, listening)
        if self._second is not None and is_asked(first.decision, listening):
            self._second.begin(first.raised, listening)
        return patience_s(first.hearing, first.decision, self._grammar, listening)

    def likely(self, segment: Segment, listening: Listening) -> tuple[Hearing, Decision]:
        """What will be done with it if no more is said, as far as that is known in the pause."""
        first = self._first(segment, listening)
        return first.hearing, first.decision

    def lacks(self, text: str, listening: Listening) -> Lacks:
        """What a beginning of a phrase that was heard lacks."""
        return self._grammar.lacks(text, listening)

    def has_second_thought(self, text: str, listening: Listening) -> bool:
        """Whether words in ``text``, but not its first, take back what stands before them."""
        return self._grammar.has_second_thought(text, listening)

    def together(
        self, first: Segment, rest: Segment, listening: Listening
    ) -> tuple[Segment, Hearing, Decision]:
        """The sound of two segments as one, what may have been said in it, and what is to be done on that.

        The second listener is not asked: it has had no time for it.
        """
        segment = joined(first, rest)
        hearing, decision = self._decided(self._raiser.raised_alike(segment), listening)
        return segment, hearing, decision

    def _first(self, segment: Segment, listening: Listening) -> _First:
        last = self._last
        if last is not None and last.segment is segment and last.listening is listening:
            return last
        raised = self._raiser.raised(segment)
        hearing, decision = self._decided(raised, listening)
        self._last = _First(segment, listening, raised, hearing, decision)
        return self._last

    def _decided(self, raised: Segment, listening: Listening) -> tuple[Hearing, Decision]:
        hearing = self._parted(self._listeners[listening].hear(raised), listening)
        decision = decide(
            hearing,
            self._grammar,
            listening,
            self._settings,
            cut=raised.cut,
            thresholds=self._thresholds,
        )
        return hearing, decision

    def _parted(self, hearing: Hearing, listening: Listening) -> Hearing:
        """With beginnings of phrases apart from whole ones, of which there are no more than ever."""
        if listening not in STATEMENT_STATES:
            return hearing
        whole: list[Alternative] = []
        beginnings: list[Alternative] = []
        for one in hearing.alternatives:
            if self._grammar.is_lead_in(one.text):  # and nothing behind it: that is said to anybody
                whole.append(Alternative(UNKNOWN_WORD, one.score))
                continue
            is_whole = is_unknown(one) or self._grammar.is_phrase(one.text, listening)
            (whole if is_whole else beginnings).append(one)
        return Hearing(tuple(whole[: ALTERNATIVES + 1]), beginnings=tuple(beginnings))
