"""Several entries in one breath: what may be joined, what it means, what is asked about."""

from __future__ import annotations

import random
from itertools import product
from typing import TYPE_CHECKING

import pytest

from tests.meaning.acceptors import accepts
from voice.entries.heard import Alternative, Hearing
from voice.entries.leg import LegSettings
from voice.entries.said import Several, Statement
from voice.entries.subject import subject_of
from voice.meaning.decide import decide
from voice.meaning.decision import AskBetween, Decision, Doubt, NotUnderstood
from voice.meaning.expression import sample
from voice.meaning.grammar import JOINT_COST, load_grammar
from voice.meaning.listening import Listening
from voice.meaning.readback import ask_between, read_back
from voice.meaning.twins import same_kind, twin_meanings

if TYPE_CHECKING:
    from voice.meaning.phrase import Phrase

GRAMMAR = load_grammar()
SETTINGS = LegSettings()
ACCEPTOR = GRAMMAR.acceptor(Listening.LISTENING)
JOINED = [phrase for phrase in GRAMMAR.phrases if phrase.joined]
OTHERS = 12
"""With how many others each is tried in turn."""


def breath(text: str) -> Several:
    """What several entries in one breath mean."""
    (meaning,) = GRAMMAR.parse(text, SETTINGS)
    assert isinstance(meaning, Several)
    return meaning


def cost(text: str) -> float:
    """What the acceptor asks for a phrase."""
    state, total = 0, 0.0
    for word in text.split():
        (arc,) = [arc for arc in ACCEPTOR.arcs[state] if arc.word == word]
        state, total = arc.target, total + arc.cost
    return total + ACCEPTOR.finals[state]


def decided(*texts: str) -> Decision:
    """The decision where these were heard, each a little less likely than the one before."""
    alternatives = tuple(Alternative(text, 40.0 - n) for n, text in enumerate(texts))
    return decide(Hearing(alternatives), GRAMMAR, Listening.LISTENING, SETTINGS)


def test_breath_means_its_entries_in_their_order() -> None:
    """Each entry of a breath means what it means alone."""
    parts = ("heart rate eighty eight", "pressure fourteen", "pupils four and reactive")
    alone = [GRAMMAR.parse(part, SETTINGS)[0] for part in parts]
    assert breath(" ".join(parts)) == Several(
        statements=tuple(one for one in alone if isinstance(one, Statement))
    )
    assert breath(" ".join(parts[:2])).statements == (alone[0], alone[1])
    assert breath(" and ".join(parts)) == breath(" ".join(parts))


@pytest.mark.parametrize(
    "text",
    [
        "heart rate eighty eight pressure fourteen drain open temperature thirty eight",
        "heart rate eighty eight pressure fourteen five minutes ago",
        "five minutes ago heart rate eighty eight pressure fourteen",
        "correction heart rate eighty eight pressure fourteen",
        "pressure fourteen confirm",
        "and pressure fourteen",
        "drain clamped five minutes ago and pressure fourteen",
        "pressure fourteen propofol twenty milligrams",
        "wheels up pressure fourteen",
    ],
)
def test_what_would_be_doubtful_is_not_joined(text: str) -> None:
    """Four entries, a time, a correction, the talk and drugs cannot be said in one breath."""
    assert GRAMMAR.parse(text, SETTINGS) == ()
    assert not accepts(ACCEPTOR, text)


def test_the_same_thing_twice_is_not_understood() -> None:
    """Two values of one thing in a breath are no entry: one of them was misheard or withdrawn."""
    text = "pressure fourteen pressure fifteen"
    assert GRAMMAR.parse(text, SETTINGS) == ()
    assert isinstance(decided(text), NotUnderstood)


def test_each_joint_costs() -> None:
    """A phrase is not lightly heard as two: each further entry is a rare one."""
    assert cost("heart rate eighty eight drain open") == pytest.approx(JOINT_COST)
    assert cost("heart rate eighty eight drain open pressure nine") == pytest.approx(2 * JOINT_COST)


@pytest.mark.parametrize("first", JOINED, ids=lambda p: p.say)
def test_no_two_entries_melt_into_each_other(first: Phrase) -> None:
    """However two entries are joined, they are heard as these two and in no other way."""
    rng = random.Random(first.say)
    for one, other in product([first], rng.sample(JOINED, OTHERS)):
        text = " ".join((*sample(one.expression, rng), *sample(other.expression, rng)))
        meanings = GRAMMAR.parse(text, SETTINGS, Listening.LISTENING)
        kinds = [[s.entry.kind for s in m.statements] for m in meanings if isinstance(m, Several)]
        assert kinds in ([], [[one.entry, other.entry]]), text
        assert len(meanings) == len(kinds), text


def test_joined_entries_do_not_begin_with_a_number() -> None:
    """No entry that may follow another begins with a number: it would melt into the value before."""
    numbers = {
        word for p in GRAMMAR.phrases if p.choice for f in p.slots["value"].forms for word in f
    }
    rng = random.Random(7)
    for phrase in JOINED:
        assert not {sample(phrase.expression, rng)[0] for _ in range(50)} & numbers, phrase.say


def test_breath_is_read_back_entry_by_entry() -> None:
    """The read-back of a breath is that of its entries, one after the other."""
    several = breath("heart rate eighty eight pressure fifteen")
    assert read_back(several, SETTINGS) == "heart rate, eight eight; pressure, one five"


FIFTEEN, FIFTY = (
    f"heart rate eighty eight pressure {value} drain open" for value in ("fifteen", "fifty")
)


def test_twins_are_looked_for_in_each_entry_of_a_breath() -> None:
    """Two breaths that differ in a teen for a ten are twins; with another value beside they are not."""
    assert twin_meanings(breath(FIFTEEN), breath(FIFTY))
    assert not twin_meanings(
        breath(FIFTEEN), breath("heart rate eighty nine pressure fifty drain open")
    )
    assert not same_kind(breath(FIFTEEN), breath("heart rate eighty eight pressure fifty"))


def test_only_the_doubtful_entry_is_asked_about() -> None:
    """The question names the entry that differs, not all of the breath."""
    decision = decided(FIFTEEN, FIFTY)
    assert isinstance(decision, AskBetween)
    question = ask_between(decision.first.meaning, decision.second.meaning, SETTINGS)
    assert question == "pressure: one five, or five zero?"
    both = ask_between(
        breath(FIFTEEN), breath("heart rate eighty nine pressure fifty drain open"), SETTINGS
    )
    assert both == (
        "heart rate, eight eight; pressure, one five; drain open, "
        "or heart rate, eight nine; pressure, five zero; drain open?"
    )


def test_two_doubtful_entries_are_not_understood() -> None:
    """Where two values of a breath are doubtful, it has to be said again, best one by one."""
    decision = decided(FIFTEEN, FIFTY, "heart rate eighty pressure fifteen drain open")
    assert decision == NotUnderstood(doubt=Doubt.CLOSE)


def test_the_same_kind_may_be_told_of_both_sides() -> None:
    """Two entries of one kind go together where they are about two things."""
    left, right = breath("left pupil four reactive right pupil five fixed").statements
    assert subject_of(left.entry) != subject_of(right.entry)
