"""The decision on one hearing: take it, ask between two, or let it go.

Every alternative is parsed strictly; alternatives that mean the same count as one. The likeliest is
taken only where it fits the sound well and nothing else comes near. Teens against tens need more
room than other rivals, and so do the words of the talk, since "confirm" cannot be taken back by a
read-back.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from voice.entries.said import Command, ConfirmAnd, Talk
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
from voice.meaning.twins import same_kind, time_or_entry, twin_meanings, twin_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from voice.entries.heard import Hearing
    from voice.entries.leg import LegSettings
    from voice.entries.said import Meaning
    from voice.meaning.grammar import Grammar


UNKNOWN_WORD = "[unk]"
"""The recogniser's word for speech that is no phrase."""


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Where the line is drawn, in natural log-likelihood as the recogniser scores.

    The first three are leads over ``[unk]``, as the listener weighs it against the length of the
    sound; they tell what is for us from other talk. The numbers hold for the shipped acoustic model
    only. Set on 436 phrases, 65 of them words of the talk, by synthetic voices without noise and in
    helicopter at 20, 10, 5 and 0 dB, and on 29 min of people saying something else; docs/bench.md
    measures what became of it.
    """

    entry: float = 5.0
    """For an entry. The best that other speech reached was 1.2; the faintest of 1,663 entries that
    were rightly heard reached 5.2. With the whole grammar other speech comes nearer: in 52 min four
    reached 2.7, 4.4, 6.4 and 6.9, and the last two were held back only by a rival, so no less will do."""
    confirm: float = 3.0
    """For "confirm", which cannot be taken back by a read-back. Other speech did not come to it at
    all; the faintest reached 7.4 at 5 dB or better, and 4.0 at 0 dB."""
    command: float = 1.0
    """For any other word of the talk, short as they are: "no" reaches 2. Other speech reached 0.4.
    It holds back 1 of 35 "no" and 1 of 30 "resume", both at 0 dB."""
    margin: float = 3.0
    """Least lead over a rival with another meaning. Of 436 phrases none is taken wrongly at any of
    the five; with 2, one is at 10 dB and one at 0 dB. With 4, 0 to 1.1 % more are asked about."""
    confirm_margin: float = math.inf
    """Least lead of a "confirm" with an entry behind it over whatever holds none: of "correction drained six
    mils" or of the entry alone, what was read back must not be confirmed."""
    twin_margin: float = math.inf
    """Least lead over the twin of a teen or ten: where the twin is in the list at all, it is asked
    about. The list reaches about 6 below its first. A margin of 5 spares one question in five, and
    let a fifteen for a fifty pass in quiet, which led by 5.1 (of 540 teens and tens none at 10 dB)."""
    command_margin: float = 4.0
    """Least lead of, or over, a word of the talk. No phrase came that near to one: with 2 the
    outcome is the same."""
    beginning: float = 5.0
    """For a phrase that broke off: its lead over ``[unk]``, as for an entry."""
    beginning_margin: float = 3.0
    """Least lead of an entry over the beginning of a phrase, as over a rival. Of 210 hearings of whole
    phrases three had a beginning so near, all at 5 dB, and two of these were misheard (docs/bench.md)."""


SHIPPED = Thresholds()
UNMEASURED = Thresholds(
    entry=8.0, confirm=6.0, command=4.0, margin=5.0, twin_margin=math.inf, command_margin=5.0
)
"""For any other model, until somebody has measured it: a rival, ``[unk]`` among them, has to be
farther behind, and a teen is never taken while its ten is in the list at all. Not measured: careful
guesses.
"""


class Scored(Protocol):
    """A text with its score in a list, as a listener gave it or as a journal keeps it."""

    @property
    def text(self) -> str:
        """What may have been said."""

    @property
    def score(self) -> float:
        """Greater is likelier."""


@dataclass(frozen=True, slots=True)
class Likeliest:
    """The likeliest phrase of a list and its likeliest other talk; what is not in it is infinitely unlikely."""

    phrase: Scored | None
    other: Scored | None

    @classmethod
    def of(cls, alternatives: Iterable[Scored]) -> Likeliest:
        """Of a list in any order."""
        phrase = other = None
        for one in sorted(alternatives, key=lambda one: -one.score):
            if is_unknown(one):
                other = other or one
            else:
                phrase = phrase or one
        return cls(phrase, other)

    @property
    def lead(self) -> float:
        """By how much the phrase leads other talk; where there is no phrase, other talk leads, be it listed or not."""
        return -math.inf if self.phrase is None else self.phrase.score - score_of(self.other)


def score_of(alternative: Scored | None) -> float:
    """Its score; ``None`` is what a list does not hold."""
    return -math.inf if alternative is None else alternative.score


@dataclass(frozen=True, slots=True)
class Reading:
    """One meaning, or words without any, by the likeliest alternative."""

    text: str
    meaning: Meaning | None
    score: float

    def heard(self) -> Heard:
        """The reading, which has a meaning, as it is handed on."""
        assert self.meaning is not None
        return Heard(text=self.text, meaning=self.meaning)


@dataclass(frozen=True, slots=True)
class Opinion:
    """What a listener made of a sound, as meanings."""

    readings: tuple[Reading, ...]
    """Likeliest first."""
    lead_of_other: float
    """By how much other talk leads the likeliest; infinite where there is no phrase, or no other talk."""


def read(hearing: Hearing, grammar: Grammar, state: Listening, settings: LegSettings) -> Opinion:
    """The phrases of ``hearing`` by what they mean in ``state``."""
    listed = sorted(hearing.alternatives, key=lambda one: -one.score)
    phrases = [one for one in listed if not is_unknown(one)]
    lead_of_other = -Likeliest.of(listed).lead
    return Opinion(tuple(readings_of(phrases, grammar, state, settings)), lead_of_other)


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
    decision = _decide_whole(hearing, grammar, state, settings, cut=cut, thresholds=thresholds)
    if not cut and _broke_off(hearing, decision, thresholds):
        return NotUnderstood(doubt=Doubt.UNFINISHED)
    return decision


def _broke_off(hearing: Hearing, decision: Decision, thresholds: Thresholds) -> bool:
    """Whether it is the beginning of a phrase, or may be: a whole one, made up, may come near to it."""
    if not hearing.beginnings:
        return False
    beginning, best = hearing.beginnings[0], Likeliest.of(hearing.alternatives)
    whole = score_of(best.phrase)
    # more words than a whole phrase has must make it likelier: a breath after it passes for a letter
    goes_on = best.phrase is not None and beginning.text.startswith(f"{best.phrase.text} ")
    is_talk = isinstance(decision, Accept) and isinstance(decision.heard.meaning, Command)
    room = 0.0 if goes_on or is_talk else thresholds.beginning_margin
    leads = beginning.score - score_of(best.other) >= thresholds.beginning
    return leads and beginning.score > whole - room


def _decide_whole(  # noqa: PLR0913 - as `decide`
    hearing: Hearing,
    grammar: Grammar,
    state: Listening,
    settings: LegSettings,
    *,
    cut: bool,
    thresholds: Thresholds,
) -> Decision:
    """What is to be done with it as a whole phrase."""
    if all(map(is_unknown, hearing.alternatives)) and _is_like_a_beginning(hearing):
        return NotUnderstood(doubt=Doubt.NO_WORDS)
    if not hearing.alternatives:
        return NotUnderstood(doubt=Doubt.NO_WORDS)
    opinion = read(hearing, grammar, state, settings)
    if opinion.lead_of_other > 0:
        return NotForUs()
    if cut:
        return NotUnderstood(doubt=Doubt.CUT)
    if -opinion.lead_of_other < _room_for_us(opinion.readings[0].meaning, thresholds):
        return NotUnderstood(doubt=Doubt.FAINT)
    return _choose(opinion.readings, state, thresholds)


def _is_like_a_beginning(hearing: Hearing) -> bool:
    """Whether the likeliest of all is the beginning of a phrase."""
    return bool(hearing.beginnings) and hearing.all[0] == hearing.beginnings[0]


def _choose(
    readings: Sequence[Reading], state: Listening, thresholds: Thresholds
) -> Accept | AskBetween | NotUnderstood:
    """The likeliest reading, if nothing else comes near; the question, if just one rival does."""
    first, *others = readings
    rivals = [r for r in others if first.score - r.score < _room(first, r, thresholds)]
    if first.meaning is not None and not rivals:
        return Accept(heard=first.heard())
    # no question within a question: the choice itself must be clear
    if state is not Listening.CHOOSING and len(rivals) == 1 and comparable(first, rivals[0]):
        return AskBetween(first=first.heard(), second=rivals[0].heard())
    return NotUnderstood(doubt=Doubt.CLOSE)


def readings_of(
    alternatives: Iterable[Scored],
    grammar: Grammar,
    state: Listening,
    settings: LegSettings,
) -> list[Reading]:
    """Every meaning once, and all words that have none, likeliest first."""
    readings: dict[Meaning | str, Reading] = {}
    for alternative in alternatives:
        text = alternative.text
        for meaning in grammar.parse(text, settings, state) or (None,):
            readings.setdefault(meaning or text, Reading(text, meaning, alternative.score))
    return list(readings.values())


def is_unknown(alternative: Scored) -> bool:
    """Whether it is speech that is no phrase, in part or in whole."""
    return UNKNOWN_WORD in alternative.text.split()


def _room_for_us(meaning: Meaning | None, thresholds: Thresholds) -> float:
    """By how much words must lead ``[unk]``; a word of the talk with a number is as long as an entry."""
    if not isinstance(meaning, Command) or meaning.minutes is not None:
        return thresholds.entry
    return thresholds.confirm if meaning.talk is Talk.CONFIRM else thresholds.command


def _room(first: Reading, rival: Reading, thresholds: Thresholds) -> float:
    """By how much ``first`` must lead ``rival``."""
    meanings = (first.meaning, rival.meaning)
    if isinstance(first.meaning, ConfirmAnd) and not isinstance(rival.meaning, ConfirmAnd | None):
        return thresholds.confirm_margin
    if None not in meanings and any(isinstance(one, Command) for one in meanings):
        return thresholds.command_margin
    return thresholds.twin_margin if are_twins(first, rival) else thresholds.margin


def are_twins(one: Reading, other: Reading) -> bool:
    """Whether they are a teen and its ten, or the like, in one place; or a time heard as an entry."""
    if one.meaning is None or other.meaning is None:
        # what means nothing, as a value that lacks its unit, may still be what was said
        return twin_words(one.text, other.text)
    return twin_meanings(one.meaning, other.meaning) or time_or_entry(one.meaning, other.meaning)


def comparable(one: Reading, other: Reading) -> bool:
    """Whether the nurse can be asked between the two."""
    return (
        one.meaning is not None
        and other.meaning is not None
        and (same_kind(one.meaning, other.meaning) or time_or_entry(one.meaning, other.meaning))
    )
