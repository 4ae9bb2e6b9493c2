"""The nurse falls in while the program speaks, and what becomes of what it was saying.

It falls silent as soon as one of the few words is sure (``voice.session.barge_in``). What was said is
then heard to its end as ever, and judged once more:

* "stop", and nothing else: it stays silent. What was cut off is remembered until the talk goes on, for
  nobody has heard what it would be a "confirm" to.
* another of the words: it is obeyed, unless it answers what had not been heard yet (``too_soon``).
* nothing for us after all: what was left is said.

Whatever else is for us is not taken, for the nurse has not heard what was read back, and it is told (`Missed`):
a new entry would go unread. Only what begins when all had sounded is heard as in the silence after it, though the
microphone is deaf for a moment longer.

A machine that cannot keep up hears words that were said before it spoke. An answer among them answers
something else than what is asked by then: it is not taken.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from voice.dialogue.state import StateName
from voice.hearing.segmenter import AROUND_S
from voice.meaning.decision import NotForUs
from voice.session.barge_in import is_answer, too_soon
from voice.session.mouth import DEAF_AFTER_S

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from voice.dialogue.actions import Tone
    from voice.entries.heard import Block, Segment
    from voice.meaning.decision import Decision
    from voice.session.barge_in import BargeIn
    from voice.session.mouth import Mouth

    Parts = tuple[Tone | str, ...]

TAKES_WORDS = frozenset(StateName) - {StateName.NOTING}
"""States in which we listen while we speak."""
ASKING = frozenset({StateName.CONFIRMING, StateName.CHECKING, StateName.CHOOSING})
"""States in which an answer is waited for."""


@dataclass(frozen=True, slots=True)
class Taken:
    """It is for us to act on."""


@dataclass(frozen=True, slots=True)
class PassedOver:
    """It was nothing more than a word that cut us off, or not for us."""

    left: Parts
    """What is to be said now: the rest of what was cut off, if nobody meant to."""


@dataclass(frozen=True, slots=True)
class TooSoon:
    """It would answer what had not been heard yet."""

    unheard: Parts
    """What is to be said again."""


@dataclass(frozen=True, slots=True)
class Missed:
    """It was for us, and was said over what had not been heard yet."""

    left: Parts
    """What had not been heard to its end when we fell silent for it, if we did."""
    repeats: bool
    """Whether it holds our own words only: it may be an echo, and is not said once more."""


Judgement = Taken | PassedOver | TooSoon | Missed


@dataclass(frozen=True, slots=True)
class _Cut:
    """We were cut off."""

    left: Parts
    """What had not been heard to its end when we fell silent."""
    unheard: Parts
    """What had not been heard to its end when the word began: nothing of it was meant."""


@dataclass(frozen=True, slots=True)
class _Asked:
    """What an answer would be about: the first turn since the talk moved on."""

    turn: Parts
    until_s: float
    """When it has been heard to its end, or to where we were cut off."""


class FallingIn:
    """Falls silent for the nurse, and knows what she has not heard."""

    def __init__(self, mouth: Mouth, barge_in: BargeIn | None) -> None:
        """Without ``barge_in`` nobody is listened to while we speak, and everything is heard out."""
        self._mouth = mouth
        self._barge_in = barge_in
        self._cut: _Cut | None = None  # we fell silent, and what cut us off is not over yet
        self._unheard: Parts = ()  # what "stop" cut off
        self._asked: _Asked | None = None

    def clean(self, block: Block) -> Block:
        """The block without our own voice; every block goes through here."""
        return block if self._barge_in is None else self._barge_in.clean(block)

    def fallen_in(
        self, block: Block, state: StateName, now_s: float, goes_on: Callable[[Segment], bool]
    ) -> Segment | None:
        """What the nurse has begun to say over us, from its first word; then we are silent.

        ``block`` is cleaned; ``now_s`` is on the same clock. ``goes_on`` tells whether it is more of what we
        read back.
        """
        if self._barge_in is None or self._cut is not None or state not in TAKES_WORDS:
            return None
        have_spoken = block.start_s >= self._mouth.deaf_until_s
        if have_spoken and not self._barge_in.in_speech:
            return None
        said = self._barge_in.heard(block, self._mouth.words, goes_on, late_s=now_s - block.end_s)
        if said is None and have_spoken:
            said = self._barge_in.going_on()
        if said is not None:
            onset_s = said.start_s + AROUND_S
            self._cut = _Cut(self._mouth.unheard(now_s), self._mouth.unheard(onset_s))
            self.fall_silent(now_s)
        return said

    def said_over(self) -> Segment | None:
        """What was said over us to its end, and did not make us fall silent; each is given once."""
        while self._barge_in is not None and (said := self._barge_in.ended()) is not None:
            # a machine that cannot keep up hears as ever what was said before it spoke
            if self._mouth.words(said.start_s + AROUND_S - DEAF_AFTER_S, said.speech_end_s):
                return said
        return None

    def fall_silent(self, now_s: float) -> Parts:
        """Say no more; what had not been heard to its end."""
        left = self._mouth.unheard(now_s)
        if left:
            self._mouth.fall_silent(now_s)
            if self._asked is not None:
                self._asked = replace(self._asked, until_s=min(now_s, self._asked.until_s))
        return left

    def nothing_came(self) -> Parts:
        """Nobody speaks any more: what is left to say, if what cut us off was no speech at all."""
        cut, self._cut = self._cut, None
        return () if cut is None else cut.left

    def judge(
        self,
        segment: Segment,
        decision: Decision,
        state: StateName,
        *,
        goes_on: bool = False,
        confirms_and: bool = False,
    ) -> Judgement:
        """What becomes of something that was said, over us, after us or, unheard till now, before we spoke.

        ``goes_on`` tells that it is more of what was said before we spoke; ``confirms_and``, that it is a
        "confirm" with an entry behind it, or the beginning of one. Where the "confirm" is too soon, that is lost
        as well, and has to be told.
        """
        cut, self._cut = self._cut, None
        unheard = self._unheard
        if goes_on:
            return Taken()
        if cut is not None:
            assert self._barge_in is not None
            if self._barge_in.is_hush(segment, self._mouth.words):
                self._unheard = cut.unheard
                return PassedOver(())
            if not self._barge_in.counts(segment, decision, self._mouth.words) and (
                cut.unheard or self._barge_in.mostly_ours(segment)
            ):
                return self._missed(segment, decision, state, cut.left)
            unheard = cut.unheard or unheard
        asked = self._not_asked_by(segment) if cut is None and state in ASKING else ()
        early: Parts = ()
        if confirms_and or too_soon(decision, checking=state is StateName.CHECKING):
            early = asked or unheard
        elif is_answer(decision):
            early = asked
        if not early:
            return Taken()
        return Missed((), repeats=False) if confirms_and else TooSoon(early)

    def judge_over(self, segment: Segment, decision: Decision, state: StateName) -> Judgement:
        """What becomes of what was ``said_over`` us."""
        return self._missed(segment, decision, state, ())

    def _missed(
        self, segment: Segment, decision: Decision, state: StateName, left: Parts
    ) -> Judgement:
        assert self._barge_in is not None
        # what is no answer to a question may be an entry: it is not listened for then
        others = isinstance(decision, NotForUs) and state is not StateName.CHOOSING
        if others or self._barge_in.mostly_ours(segment):
            return PassedOver(left)
        return Missed(left, self._barge_in.repeats(segment, decision, self._mouth.words))

    def _not_asked_by(self, segment: Segment) -> Parts:
        """The turn that asks for an answer, if it had not been heard when ``segment`` was said."""
        asked = self._asked
        return asked.turn if asked is not None and segment.start_s < asked.until_s else ()

    def spoke(self, turn: Sequence[Tone | str], until_s: float) -> None:
        """We speak a turn, which will have been heard by then, if nobody falls in."""
        if self._unheard[-1:] == (turn[-1],):
            self._unheard = ()
        if self._asked is None:
            self._asked = _Asked(tuple(turn), until_s)

    def moved_on(self) -> None:
        """The talk stands elsewhere: what was cut off is no longer what a word would answer."""
        self._unheard = ()
        self._asked = None
