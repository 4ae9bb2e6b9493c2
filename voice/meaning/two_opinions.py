"""The decision on what two listeners heard: take it, ask between two, or let it go.

Each listener gives a list of what may have been said. The lists are put together by meaning: which is the
likeliest follows from how far each is behind the best of either list, both weighed as they deserve (a conditional
logit). How sure it is follows from its leads in both (a logistic regression); from a line on it is taken, else
asked about. All weights, the line, and how they were fitted stand in ``two_opinions.toml``. What neither was sure
of alone may so be taken without a question; what one was sure of and the other heard otherwise is asked about.

Words of the talk are the first listener's alone: they are answered in the moment in which the second has
only begun. "Confirm" would come half a second later, after every entry; what it settles has been read back.
"""

from __future__ import annotations

import math
import operator
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
    sure: float
    """Log odds that the likeliest meaning is right, before anything of these is added:"""
    sure_first: float = Field(ge=0)
    """For each 1 by which it leads all else in the first list, up to the floor of that list; below 0 it is behind."""
    sure_second: float = Field(ge=0)
    """The same in the second list."""
    sure_first_other: float
    """For each 1 by which the best phrase of the first list leads other talk."""
    sure_second_other: float
    """The same of the second list. Below 0: the less the second made out, the less it speaks against what it lacks."""
    accept: float = Field(gt=0.5, lt=1)
    """Least probability, by these odds, of what is taken."""
    ask: float = Field(gt=0, lt=1)
    """Least probability of both readings together that are asked between."""
    pass_over: float = Field(gt=0.5, lt=1)
    """Least probability of other talk that is passed over without a sound, where the first heard a faint phrase."""
    twin_first: float = Field(ge=0)
    """Least lead in the first list over the twin of a teen or ten that is in it: with less it is asked about, however
    probable."""
    twin_second: float = Field(ge=0)
    """The same in the second list."""
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
    second_heard: bool
    """Whether there is any phrase in the second list."""

    def probabilities(self, weights: Weights) -> tuple[list[float], float]:
        """How probable each candidate is, and other talk; together they are 1."""
        gains = [
            -weights.first * one.behind_first - weights.second * one.behind_second
            for one in self.candidates
        ]
        other = self.odds_of_other(weights)
        most = max(*gains, other)
        shares = [math.exp(gain - most) for gain in (*gains, other)]
        whole = sum(shares)
        *of_each, of_other = (share / whole for share in shares)
        return of_each, of_other

    def odds_of_other(self, weights: Weights) -> float:
        """Log odds of other talk against a phrase that leads both lists."""
        return (
            weights.other
            + weights.first_other * self.first_other
            + weights.second_other * self.second_other
        )

    def ranked(self, weights: Weights) -> tuple[list[tuple[float, Candidate]], float]:
        """How probable each candidate is, likeliest first, and other talk; together they are 1."""
        shares, other = self.probabilities(weights)
        pairs = zip(shares, self.candidates, strict=True)
        return sorted(pairs, key=lambda pair: -pair[0]), other

    def evidence(self, top: Candidate, weights: Weights) -> tuple[float, float, float, float]:
        """By how much ``top`` leads all else in either list, and the best phrase of either leads other talk."""
        rest = [one for one in self.candidates if one is not top]
        first = min((one.behind_first for one in rest), default=weights.first_floor)
        second = min((one.behind_second for one in rest), default=weights.second_floor)
        return (
            first - top.behind_first,
            second - top.behind_second if self.second_heard else 0.0,
            -self.first_other,
            -self.second_other,
        )

    def sureness(self, top: Candidate, weights: Weights) -> float:
        """How probable it is that ``top``, the likeliest, was said."""
        each = (
            weights.sure_first,
            weights.sure_second,
            weights.sure_first_other,
            weights.sure_second_other,
        )
        odds = weights.sure + sum(map(operator.mul, each, self.evidence(top, weights)))
        # the odds are those of commands: that it may be other talk comes on top
        return _probability(odds) * (1 - _probability(self.odds_of_other(weights)))


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
        second_heard=bool(in_second),
    )


def _behind(opinion: Opinion, floor: float) -> dict[Meaning | str, float]:
    return {
        _key(one): min(opinion.readings[0].score - one.score, floor) for one in opinion.readings
    }


def _probability(log_odds: float) -> float:
    return 1 / (1 + math.exp(-log_odds))


def _key(one: Reading) -> Meaning | str:
    return one.meaning or one.text


def choose(together: Together, stand: Stand, alone: Decision, weights: Weights) -> Decision:
    """What is to be done on both lists; ``alone`` is what would be on the first."""
    if isinstance(alone, Accept) and stand is Stand.AGREED:
        return alone  # the first was sure enough alone, and the second bears it out
    ((share, top), *less), other = together.ranked(weights)
    if other >= weights.pass_over and alone == FAINT:
        return NotForUs()  # what the first took for a phrase is never passed over without a sound
    twin = next((pair for pair in less if _unsure_twins(top, pair[1], weights)), None)
    if (
        top.reading.meaning is not None
        and together.sureness(top, weights) >= weights.accept
        and twin is None
    ):
        return Accept(heard=top.reading.heard())
    if less:
        next_share, rival = twin or less[0]
        if share + next_share >= weights.ask and comparable(top.reading, rival.reading):
            return AskBetween(first=top.reading.heard(), second=rival.reading.heard())
        if next_share > other:
            return NotUnderstood(doubt=Doubt.CLOSE)
    return FAINT


def _unsure_twins(top: Candidate, rival: Candidate, weights: Weights) -> bool:
    """Whether they are a teen and its ten, both in the first list, and not both listeners are sure which."""
    return (
        rival.behind_first < weights.first_floor
        and are_twins(top.reading, rival.reading)
        and (
            rival.behind_first - top.behind_first < weights.twin_first
            or rival.behind_second - top.behind_second < weights.twin_second
        )
    )
