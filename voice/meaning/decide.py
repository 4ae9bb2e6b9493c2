"""The decision on one hearing: take it, ask between two, or let it go.

Every alternative is parsed strictly; alternatives that mean the same count as one. The likeliest is
taken only where it fits the sound well and nothing else comes near. Teens against tens need more
room than other rivals, and so do the words of the talk, since "confirm" cannot be taken back by a
read-back.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from voice.entries.said import Command
from voice.meaning.decision import (
    Accept,
    AskBetween,
    Decision,
    Doubt,
    Heard,
    NotForUs,
    NotUnderstood,
)
from voice.meaning.listening import Listening
from voice.meaning.twins import same_kind, twin_meanings

if TYPE_CHECKING:
    from collections.abc import Iterable

    from voice.entries.heard import Alternative, Hearing
    from voice.entries.leg import LegSettings
    from voice.entries.said import Meaning
    from voice.meaning.grammar import Grammar


UNKNOWN_WORD = "[unk]"
"""The recogniser's word for speech that is no phrase."""


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Where the line is drawn, in natural log-likelihood as the recogniser scores.

    The numbers hold for the shipped acoustic model only: its score is the sum over all frames of
    log (posterior / prior), so its height, and not only its differences, says how well words fit.

    Set on 264 phrases by synthetic development voices in helicopter noise at 20, 10, 5 and 0 dB and
    on 250 human sentences that are no phrase (``docs/bench.md`` repeats it with a larger set).
    """

    other_talk: float = 0.0
    """Score a letter below which it was not for us. Below it: 9 of the 11 sentences that came out
    as legal phrases at all, and 0 / 0 / 0 / 0.4 % of right phrases at 20 / 10 / 5 / 0 dB."""
    faint: float = 0.7
    """Score a letter below which it was not understood. The other 2 sentences lie below (highest:
    0.47), and 0 / 0.4 / 0.4 / 10 % of right phrases."""
    margin: float = 3.0
    """Least lead over a rival with another meaning. With 2 instead, 1.5 and not 0.8 % of phrases
    at 5 dB are taken wrongly, and 1 % more taken rightly."""
    twin_margin: float = 5.0
    """Least lead over the twin of a teen or ten; all wrong twins at 20 and 10 dB led by less (the
    greatest lead: 4.2)."""
    command_margin: float = 4.0
    """Least lead of, or over, a word of the talk. Not measured yet: the development phrases have
    too few of them."""


SHIPPED = Thresholds()
UNMEASURED = Thresholds(
    other_talk=-math.inf, faint=-math.inf, margin=5.0, twin_margin=math.inf, command_margin=5.0
)
"""For any other model, until somebody has measured it. What its scores amount to is not known, so
their height counts for nothing; a rival, ``[unk]`` among them, has to be farther behind, and a teen
is never taken while its ten is in the list at all. Not measured: careful guesses.
"""


@dataclass(frozen=True, slots=True)
class _Reading:
    """One meaning, or words without any, by the likeliest alternative."""

    text: str
    meaning: Meaning | None
    score: float

    def heard(self) -> Heard:
        """The reading, which has a meaning, as it is handed on."""
        assert self.meaning is not None
        return Heard(text=self.text, meaning=self.meaning)


def decide(  # noqa: PLR0913 - what was heard, what it is read by, and two options
    hearing: Hearing,
    grammar: Grammar,
    state: Listening,
    settings: LegSettings,
    *,
    cut: bool = False,
    thresholds: Thresholds = SHIPPED,
) -> Decision:
    """What is to be done with ``hearing``, when listening as in ``state``.

    ``cut`` tells that the segment may not hold the whole utterance.
    """
    alternatives = sorted(hearing.alternatives, key=lambda a: -a.score)
    if not alternatives:
        return NotUnderstood(doubt=Doubt.NO_WORDS)
    fit = _fit(alternatives[0])
    if UNKNOWN_WORD in alternatives[0].text.split() or fit < thresholds.other_talk:
        return NotForUs()
    if cut or fit < thresholds.faint:
        return NotUnderstood(doubt=Doubt.CUT if cut else Doubt.FAINT)
    return _choose(_readings(alternatives, grammar, state, settings), state, thresholds)


def _choose(
    readings: list[_Reading], state: Listening, thresholds: Thresholds
) -> Accept | AskBetween | NotUnderstood:
    """The likeliest reading, if nothing else comes near; the question, if just one rival does."""
    first, *others = readings
    rivals = [r for r in others if first.score - r.score < _room(first, r, thresholds)]
    if first.meaning is not None and not rivals:
        return Accept(heard=first.heard())
    # no question within a question: the choice itself must be clear
    if state is not Listening.CHOOSING and len(rivals) == 1 and _comparable(first, rivals[0]):
        return AskBetween(first=first.heard(), second=rivals[0].heard())
    return NotUnderstood(doubt=Doubt.CLOSE)


def _readings(
    alternatives: Iterable[Alternative],
    grammar: Grammar,
    state: Listening,
    settings: LegSettings,
) -> list[_Reading]:
    """Every meaning once, and all words that have none, likeliest first."""
    readings: dict[Meaning | str, _Reading] = {}
    for alternative in alternatives:
        text = alternative.text
        for meaning in grammar.parse(text, settings, state) or (None,):
            readings.setdefault(meaning or text, _Reading(text, meaning, alternative.score))
    return list(readings.values())


def _fit(alternative: Alternative) -> float:
    """Score a letter: long phrases gather more score than short ones."""
    return alternative.score / max(sum(map(len, alternative.text.split())), 1)


def _room(first: _Reading, rival: _Reading, thresholds: Thresholds) -> float:
    """By how much ``first`` must lead ``rival``."""
    one, other = first.meaning, rival.meaning
    if one is None or other is None:
        return thresholds.margin
    if isinstance(one, Command) or isinstance(other, Command):
        return thresholds.command_margin
    return thresholds.twin_margin if twin_meanings(one, other) else thresholds.margin


def _comparable(one: _Reading, other: _Reading) -> bool:
    return (
        one.meaning is not None
        and other.meaning is not None
        and same_kind(one.meaning, other.meaning)
    )
