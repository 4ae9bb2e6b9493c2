"""A second listener beside the first: asked in the pause, waited for no longer than it may be."""

from __future__ import annotations

import math
import threading
from dataclasses import dataclass, field

import numpy as np
import pytest

from tests.session.scripted import GRAMMAR, SETTINGS
from voice.entries.heard import Alternative, Hearing, SecondOpinion, Segment, Stand
from voice.hearing.segmenter import HANGOVER_S
from voice.meaning.decision import Accept, AskBetween, Decision, NotUnderstood
from voice.meaning.listening import Listening
from voice.session.beside import Beside
from voice.session.ears import SECOND_KEPT, Ears

STATE = Listening.LISTENING
LONG_S = 20.0
"""Longer than any test waits."""


def hearing(*texts: str) -> Hearing:
    """These, each far likelier than the next."""
    return Hearing(tuple(Alternative(text, 40.0 - 15 * n) for n, text in enumerate(texts)))


NINE = hearing("pressure nine", "[unk]")
FIVE = hearing("pressure five", "pressure one", "[unk]")


@dataclass
class Listens:
    """Hears what it is told to, once it may."""

    told: Hearing
    may: threading.Event = field(default_factory=threading.Event)
    began: threading.Event = field(default_factory=threading.Event)
    heard: list[Segment] = field(default_factory=list)

    def hear(self, segment: Segment) -> Hearing:
        """What it was told."""
        self.heard.append(segment)
        self.began.set()
        assert self.may.wait(LONG_S)
        return self.told


def at_once(told: Hearing) -> Listens:
    """One that does not have to be waited for."""
    listener = Listens(told)
    listener.may.set()
    return listener


def segment(samples: int = 800, *, cut: bool = False) -> Segment:
    """A stretch of loud sound."""
    return Segment(0.0, np.full(samples, 20000, dtype=np.int16), 0.05, cut=cut)


def ears(first: Hearing, second: Beside) -> Ears:
    """Two listeners."""
    return Ears(dict.fromkeys(Listening, at_once(first)), GRAMMAR, SETTINGS, second=second)


def beside(listener: Listens, in_time_s: float = LONG_S) -> Beside:
    """It, in every state."""
    return Beside(dict.fromkeys(Listening, listener), in_time_s=in_time_s)


def test_it_begins_in_the_pause_and_is_asked_once() -> None:
    """It is at work from the pause on, hears what the first heard, and hears it once."""
    listener = at_once(NINE)
    both = ears(NINE, beside(listener))
    said = segment()
    assert both.patience_s(said, STATE) == HANGOVER_S
    assert listener.began.wait(LONG_S)
    heard, decision = both.make_out(said, STATE)
    assert isinstance(decision, Accept)
    assert heard.second == SecondOpinion(Stand.AGREED, NINE.alternatives)
    assert both.make_out(said, STATE) == (heard, decision)
    assert listener.heard == [said]


def test_what_it_heard_otherwise_is_asked_about() -> None:
    """Where two sure listeners differ the nurse is asked, and both lists are handed on."""
    heard, decision = ears(NINE, beside(at_once(FIVE))).make_out(segment(), STATE)
    assert isinstance(decision, AskBetween)
    assert heard.alternatives == NINE.alternatives
    assert heard.second == SecondOpinion(Stand.DIFFERED, FIVE.alternatives)


def test_only_its_likeliest_readings_are_handed_on() -> None:
    """A long list is cut."""
    many = hearing(
        "pressure nine", *(f"heart rate {n}" for n in ("eighty", "ninety", "forty", "sixty", "ten"))
    )
    heard, _ = ears(NINE, beside(at_once(many))).make_out(segment(), STATE)
    assert heard.second is not None
    assert heard.second.alternatives == many.alternatives[:SECOND_KEPT]


def test_what_the_second_does_not_know_is_taken_when_it_is_said_again() -> None:
    """What a sure first was kept from taking is to be said again, and then taken if it is the same, and said soon."""

    def make_out(after_s: float, *, first: Hearing = NINE) -> type[Decision]:
        both._listeners = dict.fromkeys(Listening, at_once(first))
        said = Segment(after_s, segment().samples, after_s + 0.05)
        decisions = {type(both.make_out(said, STATE)[1]) for _ in range(2)}
        assert len(decisions) == 1  # asked twice, it answers alike
        return decisions.pop()

    unlike = Hearing((Alternative("[unk]", 30.0), Alternative("drain clamped", 0.0)))
    both = ears(NINE, beside(at_once(unlike)))
    assert make_out(0) is NotUnderstood
    assert make_out(5) is Accept
    assert make_out(40) is NotUnderstood
    assert make_out(45, first=hearing("pressure five", "[unk]")) is NotUnderstood
    assert make_out(50) is NotUnderstood


def test_the_first_goes_on_alone_where_it_is_late() -> None:
    """What is not there in time is not waited for, and the next segment is heard all the same."""
    slow = Listens(FIVE)
    second = beside(slow, in_time_s=0.0)
    both = ears(NINE, second)
    heard, decision = both.make_out(segment(), STATE)
    assert isinstance(decision, Accept)
    assert heard.second == SecondOpinion(Stand.LATE)
    slow.may.set()
    assert second.opinion(segment(), STATE) in (SecondOpinion(Stand.LATE), FIVE)


def test_what_went_on_is_not_heard_to_its_end() -> None:
    """Of segments that were asked about while it was busy it hears the last only."""
    listener = Listens(NINE)
    second = beside(listener)
    first, grown, whole = segment(), segment(1600), segment(2400)
    second.begin(first, STATE)
    assert listener.began.wait(LONG_S)
    second.begin(grown, STATE)
    second.begin(whole, STATE)
    listener.may.set()
    assert second.opinion(whole, STATE) == NINE
    assert listener.heard == [first, whole]


def test_the_first_goes_on_alone_where_it_fails() -> None:
    """A second listener that breaks down costs nothing, and is asked again."""

    class Fails:
        """Breaks down the first time."""

        times = 0

        def hear(self, _: Segment) -> Hearing:
            self.times += 1
            if self.times == 1:
                raise MemoryError
            return NINE

    both = ears(NINE, Beside({STATE: Fails()}, in_time_s=LONG_S))
    heard, decision = both.make_out(segment(), STATE)
    assert (heard.second, type(decision)) == (SecondOpinion(Stand.FAILED), Accept)
    again, _ = both.make_out(segment(), STATE)
    assert again.second is not None
    assert again.second.stand is Stand.AGREED


def test_a_score_that_is_no_number_is_a_failure() -> None:
    """What the journal could not hold is not handed on."""
    broken = Hearing((Alternative("pressure nine", math.nan),))
    assert beside(at_once(broken)).opinion(segment(), STATE) == SecondOpinion(Stand.FAILED)


@pytest.mark.parametrize(
    ("first", "state", "cut"),
    [
        (hearing("confirm", "[unk]"), Listening.CONFIRMING, False),
        (hearing("[unk]", "pressure nine"), STATE, False),
        (NINE, STATE, True),
        (NINE, Listening.ASLEEP, False),
    ],
)
def test_it_is_not_asked_about_what_is_no_entry(
    first: Hearing, state: Listening, cut: bool
) -> None:
    """Words of the talk, other talk and half an utterance are the first listener's alone."""
    listener = at_once(NINE)
    both = ears(first, beside(listener))
    said = segment(cut=cut)
    both.patience_s(said, state)
    heard, _ = both.make_out(said, state)
    assert heard.second is None
    assert listener.heard == []


def test_it_can_be_let_go() -> None:
    """Its thread ends when it is closed."""
    before = set(threading.enumerate())
    second = beside(at_once(NINE))
    (thread,) = set(threading.enumerate()) - before
    second.close()
    thread.join(LONG_S)
    assert not thread.is_alive()
