"""The decision on what two listeners heard: take it, ask between two, or let it go.

Each listener gives a list of what may have been said. The lists are put together by meaning: how probable a
meaning is follows from how far it is behind the best of either list, each weighed as it deserves
(a conditional logit; its weights and where the lines are drawn stand in ``two_opinions.toml``, with how
they were fitted). What neither was sure of alone may so be taken without a question; what one was sure
of and the other heard otherwise is asked about.

Words of the talk are the first listener's alone: they are answered in the moment in which the second has
only begun. "Confirm" would come half a second later, after every entry; what it settles has been read back.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import Field

from voice.entries.frozen import Frozen
from voice.entries.heard import Stand
from voice.entries.said import Choice, Command
from voice.meaning.decide import are_twins, comparable, read
from voice.meaning.decision import (
    Accept,
    AskBetween,
    Decision,
    Doubt,
    NotForUs,
    NotUnderstood,
)
from voice.meaning.listening import Listening

if TYPE_CHECKING:
    from voice.entries.heard import Hearing
    from voice.entries.leg import LegSettings
    from voice.entries.said import Meaning
    from voice.meaning.decide import Opinion, Reading
    from voice.meaning.grammar import Grammar

ASKED_IN = frozenset({Listening.LISTENING, Listening.CONFIRMING, Listening.CHECKING})
"""States in which entries are made. Before a leg none is; and the answer to a question between two is
short, and no question itself."""
FAINT = NotUnderstood(doubt=Doubt.FAINT)


class Weights(Frozen):
    """How two lists are put together, and where the lines are drawn; ``two_opinions.toml`` holds them.

    Scores are natural log-likelihoods as each listener gives them.
    """

    first: float = Field(gt=0)
    """What being behind by 1 in the first list costs, as a natural logarithm of odds."""
    second: float = Field(gt=0)
    """The same for the second list."""
    first_floor: float = Field(gt=0)
    """Nothing counts as farther behind than that: what is not in the list is taken to be there."""
    second_floor: float = Field(gt=0)
    first_other: float = Field(ge=0)
    """What other talk gains for each 1 by which the first list has it before the best phrase."""
    second_other: float = Field(ge=0)
    other: float
    """What other talk has of itself."""
    other_reach: float = Field(gt=0)
    """A lead of or over other talk counts up to that."""
    accept: float = Field(gt=0.5, lt=1)
    """Least probability of what is taken."""
    ask: float = Field(gt=0, lt=1)
    """Least probability of both readings together that are asked between."""
    twin: float = Field(gt=0)
    """Least lead in the second list over the twin of a teen or ten that is in the first list: with less
    it is asked about, however probable."""
    sure: float
    """Where other talk leads its best phrase by no more than that, the second listener is sure enough of it:
    what it does not have at all is never taken, but asked about, however sure the first is."""
    unlike: float
    """Where other talk leads its best phrase by more than that, the second listener made out no phrase."""


@cache
def shipped_weights() -> Weights:
    """Those of the shipped acoustic model beside Whisper tiny.en."""
    return Weights.model_validate(
        tomllib.loads(Path(__file__).with_suffix(".toml").read_text("utf-8"))["weights"]
    )


@dataclass(frozen=True, slots=True)
class Candidate:
    """One meaning, or words without any, with how far it is behind the best phrase of either list."""

    reading: Reading
    behind_first: float
    """From 0 to the floor of the list, for what is not in it."""
    behind_second: float


@dataclass(frozen=True, slots=True)
class Together:
    """Two lists put together."""

    candidates: tuple[Candidate, ...]
    first_other: float
    """By how much other talk leads the best phrase of the first list; below 0: it is behind it."""
    second_other: float

    def probabilities(self, weights: Weights) -> tuple[list[float], float]:
        """How probable each candidate is, and other talk; together they are 1."""
        gains = [
            -weights.first * one.behind_first - weights.second * one.behind_second
            for one in self.candidates
        ]
        other = (
            weights.other
            + weights.first_other * self.first_other
            + weights.second_other * self.second_other
        )
        most = max(*gains, other)
        shares = [math.exp(gain - most) for gain in (*gains, other)]
        whole = sum(shares)
        *of_each, of_other = (share / whole for share in shares)
        return of_each, of_other


def is_asked(decision: Decision, state: Listening) -> bool:
    """Whether the second listener is to hear what the first decided on so."""
    if state not in ASKED_IN:
        return False
    match decision:
        case Accept(heard=heard):
            return not isinstance(heard.meaning, Command | Choice)
        case NotForUs() | NotUnderstood(doubt=Doubt.CUT | Doubt.NO_WORDS | Doubt.UNFINISHED):
            return False
    return True


def decide_by_two(  # noqa: PLR0913 - what was heard and decided, what it is read by, and an option
    first: Hearing,
    second: Hearing,
    grammar: Grammar,
    state: Listening,
    settings: LegSettings,
    *,
    alone: Decision,
    weights: Weights | None = None,
) -> tuple[Decision, Stand]:
    """What is to be done, and how the second opinion stands to the first.

    ``alone`` is what would be done on ``first`` alone, where `is_asked` tells that it is not enough.
    """
    weights = weights or shipped_weights()
    one, other = (read(hearing, grammar, state, settings) for hearing in (first, second))
    stand = stands(one, other, weights)
    return choose(put_together(one, other, weights), stand, alone, weights), stand


def stands(first: Opinion, second: Opinion, weights: Weights) -> Stand:
    """How the second opinion stands to the first, which holds a phrase."""
    if second.lead_of_other > weights.unlike:
        return Stand.NOTHING
    alike = _key(first.readings[0]) == _key(second.readings[0])
    return Stand.AGREED if alike else Stand.DIFFERED


def put_together(first: Opinion, second: Opinion, weights: Weights) -> Together:
    """Both lists as one, each meaning once; the first holds a phrase."""
    in_first = _behind(first, weights.first_floor)
    in_second = _behind(second, weights.second_floor)
    # where it made out no phrase it is for none of them: that it took it for other talk tells enough
    unheard = weights.second_floor if in_second else 0.0
    reading = {_key(one): one for one in (*second.readings, *first.readings)}
    reach = weights.other_reach
    return Together(
        candidates=tuple(
            Candidate(
                reading[key],
                in_first.get(key, weights.first_floor),
                in_second.get(key, unheard),
            )
            for key in dict.fromkeys((*in_first, *in_second))
        ),
        first_other=min(max(first.lead_of_other, -reach), reach),
        second_other=min(max(second.lead_of_other, -reach), reach),
    )


def _behind(opinion: Opinion, floor: float) -> dict[Meaning | str, float]:
    return {
        _key(one): min(opinion.readings[0].score - one.score, floor) for one in opinion.readings
    }


def _key(one: Reading) -> Meaning | str:
    return one.meaning or one.text


def choose(together: Together, stand: Stand, alone: Decision, weights: Weights) -> Decision:
    """What is to be done on both lists; ``alone`` is what would be on the first."""
    if isinstance(alone, Accept) and stand is Stand.AGREED:
        return alone  # the first was sure enough alone, and the second bears it out
    shares, other = together.probabilities(weights)
    (share, top), *less = sorted(
        zip(shares, together.candidates, strict=True), key=lambda pair: -pair[0]
    )
    if other >= weights.accept and alone == FAINT:
        return NotForUs()  # what the first took for a phrase is never passed over without a sound
    sure = together.second_other <= weights.sure
    against = next(
        (
            pair
            for pair in less
            if _unsure_twins(top, pair[1], weights)
            or (sure and _heard_otherwise(top, pair[1], weights))
        ),
        None,
    )
    if top.reading.meaning is not None and share >= weights.accept and against is None:
        return Accept(heard=top.reading.heard())
    if less:
        next_share, rival = against or less[0]
        if share + next_share >= weights.ask and comparable(top.reading, rival.reading):
            return AskBetween(first=top.reading.heard(), second=rival.reading.heard())
        if next_share > other:
            return NotUnderstood(doubt=Doubt.CLOSE)
    return FAINT


def _heard_otherwise(top: Candidate, rival: Candidate, weights: Weights) -> bool:
    """Whether the second listener's best is ``rival``, and it does not have ``top`` at all."""
    return rival.behind_second == 0 and top.behind_second >= weights.second_floor


def _unsure_twins(top: Candidate, rival: Candidate, weights: Weights) -> bool:
    """Whether they are a teen and its ten, both in the first list, that the second does not tell apart."""
    return (
        rival.behind_first < weights.first_floor
        and are_twins(top.reading, rival.reading)
        and rival.behind_second - top.behind_second < weights.twin
    )
