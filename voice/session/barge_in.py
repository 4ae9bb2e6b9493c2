"""Words said while the program itself speaks.

Its own voice is taken out of the sound first; what is left is listened to for a few words only
(``voice.meaning.interrupting``), and looked at while it grows, so that the program falls silent as
soon as one is sure. What was said is then heard to its end as ever, and has to be heard the same again.

What else is said over it is given back when it has ended, or as it goes on when we have done speaking: whether
it is for us is asked of all the phrases then (``voice.session.falling_in``).

Our own voice must never pass for somebody's. Beside being taken out, it is refused three times over:
nothing is listened to before the way from speaker to microphone has been learned; nothing counts of
which far more was taken out than is left; and no word counts that we are saying ourselves.
"""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

from voice.entries.heard import Hearing
from voice.entries.said import Choice, Command, Correction, Talk
from voice.hearing.segmenter import AROUND_S, FRAME_S, JUMP_S
from voice.meaning.decide import is_unknown
from voice.meaning.decision import Accept, AskBetween, Decision, Heard
from voice.meaning.grammar import normalise
from voice.meaning.interrupting import HUSH, INTERRUPTING

if TYPE_CHECKING:
    from collections.abc import Callable

    from voice.entries.heard import Block, Segment
    from voice.hearing.echo import EchoCanceller
    from voice.hearing.listener import Listener
    from voice.hearing.segmenter import Segmenter

    Words = Callable[[float, float], str]
    """What we said between two times."""

SURE = 1.8
"""Lead of a word over any other speech from which it is sure: "no" is short and reaches 2 (docs/bench.md)."""
CONFIRM_SURE = 5.0
"""The same for "confirm": it reaches 7, and alone of the words it cannot be taken back."""
LOOK_EACH_S = 0.09
"""How often it is looked at while somebody speaks."""
BEHIND_S = 0.5
"""Sound that came in longer ago than this is not looked at: the machine has too much to do."""
SHORTEST_S = 0.2
"""Less speech than this is not looked at."""
GOING_ON_S = 0.4
"""So much more speech before it is asked whether the nurse goes on with what she said before."""
ENDED_S = 0.2
"""After so much silence that is asked of less speech as well: "zero" may be all of it."""
LONGEST_S = 2.0
"""What begins with none of the words in so long is said to somebody else."""
OURS_DB = 12.0
"""From so much more taken out than left on, what is left is a rest of our own voice."""
LATE_S = 0.5
"""So much later than it was played we may be heard."""


class BargeIn:
    """Listens over our own voice."""

    def __init__(self, canceller: EchoCanceller, segmenter: Segmenter, listener: Listener) -> None:
        """``segmenter`` is for this alone; ``listener`` hears the acceptor of ``interruptions``."""
        self._canceller = canceller
        self._segmenter = segmenter
        self._listener = listener
        self._looked_s = 0.0
        self._asked_s = 0.0
        self._fed_s = 0.0
        self._recent: deque[Block] = deque()  # cleaned
        self._last: tuple[Segment, Hearing] | None = None
        self._ended: deque[Segment] = deque()  # said over us to their end

    @property
    def in_speech(self) -> bool:
        """Whether somebody has begun to speak over us."""
        return self._segmenter.in_speech

    def clean(self, block: Block) -> Block:
        """The block without our own voice; see ``EchoCanceller.clean``."""
        block = self._canceller.clean(block)
        self._recent.append(block)
        while block.start_s - self._recent[0].start_s > AROUND_S:
            self._recent.popleft()
        return block

    def heard(
        self,
        block: Block,
        words: Words,
        goes_on: Callable[[Segment], bool] = lambda _: False,
        *,
        late_s: float = 0.0,
    ) -> Segment | None:
        """What is being said, once it is sure that it begins with one of the words, or ``goes_on`` says yes to it.

        Gets all blocks while we speak, cleaned. ``late_s`` is how long ago the block came in: a machine
        that cannot keep up is not given more to do.
        """
        if not self._canceller.learned:
            self._segmenter.flush()
            return None
        self._feed(block)
        said = self._segmenter.growing
        if said is None or block.end_s - self._looked_s < LOOK_EACH_S or late_s > BEHIND_S:
            return None
        begun_s = said.start_s + AROUND_S
        if not SHORTEST_S <= said.speech_end_s - begun_s <= LONGEST_S:
            return None
        self._looked_s = block.end_s
        if self._word(said, words) is None and not self._goes_on(said, goes_on):
            return None
        self._segmenter.flush()
        return said

    def _feed(self, block: Block) -> None:
        """With what came in just before we began to speak: who began then has begun before us."""
        if self._recent and block.start_s - self._fed_s > JUMP_S:
            self._segmenter.flush()
            for before in self._recent:
                if before.end_s <= block.start_s + JUMP_S:
                    self._segmenter.feed(before)
        self._ended.extend(self._segmenter.feed(block))
        self._fed_s = block.end_s

    def going_on(self) -> Segment | None:
        """What somebody has begun to say over us and is still saying; it is given once.

        A rest of our own voice is not: it would stand before what is said next.
        """
        said = self._segmenter.growing
        self._segmenter.flush()
        return None if said is None or self.mostly_ours(said) else said

    def ended(self) -> Segment | None:
        """What was said over us to its end without making us fall silent; each is given once."""
        return self._ended.popleft() if self._ended else None

    def _goes_on(self, said: Segment, goes_on: Callable[[Segment], bool]) -> bool:
        """Asked seldom: it takes longer than to look for a word."""
        new_s = said.speech_end_s - max(said.start_s + AROUND_S, self._asked_s)
        has_ended = said.end_s - said.speech_end_s >= ENDED_S and new_s > 0
        if new_s < GOING_ON_S and not has_ended:
            return False
        self._asked_s = said.speech_end_s
        return not self.mostly_ours(said) and goes_on(said)

    def is_hush(self, segment: Segment, words: Words) -> bool:
        """Whether all that was said is "stop"."""
        return self._word(segment, words) == HUSH

    def counts(self, segment: Segment, decision: Decision, words: Words) -> bool:
        """Whether what cut us off is one of the words, now that all of it has been heard."""
        match decision:
            case Accept(heard=Heard(text=text, meaning=Command(talk=talk))):
                return talk in INTERRUPTING and self._word(segment, words) == text
            case Accept(heard=Heard(text=text, meaning=Correction())):
                return not self._ours(segment, text, words)
            case AskBetween(
                first=Heard(text=text, meaning=Correction()), second=Heard(meaning=Correction())
            ):
                return not self._ours(segment, text, words)
        return False

    def repeats(self, segment: Segment, decision: Decision, words: Words) -> bool:
        """Whether it holds no word but those that we are saying."""
        return isinstance(decision, Accept) and self._repeats(segment, decision.heard.text, words)

    def _word(self, segment: Segment, words: Words) -> str | None:
        """Which of the words was said, if it is sure and was not ourselves."""
        if self._last is None or self._last[0] is not segment:
            self._last = (segment, self._hear(segment))
        alternatives = self._last[1].alternatives
        said = [one for one in alternatives if not is_unknown(one)]
        others = [one.score for one in alternatives if one not in said[:1]]
        if not said:
            return None
        text = said[0].text
        sure = CONFIRM_SURE if Talk.CONFIRM in text else SURE
        if others and said[0].score - max(others) < sure:
            return None
        return None if self._ours(segment, text, words) else text

    def _hear(self, segment: Segment) -> Hearing:
        try:
            return self._listener.hear(segment)
        except Exception:  # noqa: BLE001 - whatever the recogniser fails of, the leg goes on
            return Hearing(())

    def _ours(self, segment: Segment, text: str, words: Words) -> bool:
        """Whether it may be our own voice."""
        return self._repeats(segment, text, words) or self.mostly_ours(segment)

    def _repeats(self, segment: Segment, text: str, words: Words) -> bool:
        ours = normalise(words(segment.start_s - LATE_S, segment.end_s)).split()
        return set(text.split()) <= set(ours)

    def mostly_ours(self, segment: Segment) -> bool:
        """Whether far more of our own voice was taken out of it than is left."""
        from_s, to_s = segment.start_s + AROUND_S - FRAME_S, segment.speech_end_s
        return self._canceller.removed_db(from_s, to_s) > OURS_DB


_ANSWERS = {Talk.CONFIRM, Talk.NO, Talk.SCRATCH_THAT, Talk.YES, Talk.SKIP, Talk.FIRST, Talk.SECOND}


def is_answer(decision: Decision) -> bool:
    """Whether it says something only about what was read back or asked."""
    match decision:
        case Accept(heard=Heard(meaning=Command(talk=talk))):
            return talk in _ANSWERS
        case Accept(heard=Heard(meaning=Correction() | Choice())):
            return True
        case AskBetween(first=Heard(meaning=Correction()) | Heard(meaning=Choice())):
            return True
    return False


def too_soon(decision: Decision, *, checking: bool) -> bool:
    """Whether it must not be taken before all was heard that it is the answer to.

    "No" takes back, and may be said at any time; but to the question of a check it is an answer.
    """
    match decision:
        case Accept(heard=Heard(meaning=Command(talk=talk))):
            return talk is Talk.CONFIRM or (checking and talk in {Talk.YES, Talk.NO, Talk.SKIP})
    return False
