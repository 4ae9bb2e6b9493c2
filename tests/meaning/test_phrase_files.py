"""Every phrase file against its own examples, the shipped model and the required sayings."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from tests.meaning.acceptors import accepts
from voice.acoustics.shipped import MODEL_FOLDER
from voice.entries.leg import LegSettings
from voice.entries.said import Command, Statement, Talk
from voice.meaning.expression import sample
from voice.meaning.grammar import Example, load_grammar
from voice.meaning.listening import Listening

GRAMMAR = load_grammar()
SETTINGS = LegSettings()
SAYABLE = [
    line
    for line in Path(__file__).with_name("sayable.txt").read_text().splitlines()
    if not line.startswith("#")
]


@pytest.mark.parametrize("example", GRAMMAR.examples, ids=lambda e: f"{e.file}: {e.text}")
def test_example_means_what_its_file_says(example: Example) -> None:
    """An example has exactly the one meaning stated beside it."""
    assert GRAMMAR.parse(example.text, SETTINGS) == (example.meaning,)


@pytest.mark.parametrize("example", GRAMMAR.examples, ids=lambda e: f"{e.file}: {e.text}")
def test_example_can_be_heard(example: Example) -> None:
    """An example is accepted in exactly the states in which it can be parsed, and in some."""
    heard = {s for s in Listening if accepts(GRAMMAR.acceptor(s), GRAMMAR.spelled(example.text))}
    assert heard == {s for s in Listening if GRAMMAR.parse(example.text, SETTINGS, s)}
    assert heard


@pytest.mark.parametrize(("file", "text"), GRAMMAR.refused)
def test_counter_example_is_refused(file: str, text: str) -> None:
    """A counter-example has no meaning in any state."""
    assert GRAMMAR.parse(text, SETTINGS) == (), file


# Values that cannot stand together, and values whose unit must be said, are known only to the parser.
IMPOSSIBLE = {
    "blood pressure eighty over one twenty",
    "catheter placed february thirty",
    "glucose twenty five",
    "blood sugar thirty",
    "haemoglobin twenty four",
    "arterial carbon dioxide fifteen",
    "blood gas oxygen fifty",
    "lactate eighteen",
}


@pytest.mark.parametrize(("file", "text"), GRAMMAR.refused)
def test_counter_example_cannot_be_heard(file: str, text: str) -> None:
    """No acceptor spells a counter-example, but for values that only the parser refuses."""
    heard = any(accepts(GRAMMAR.acceptor(state), text) for state in Listening)
    assert heard == (text in IMPOSSIBLE), file


@pytest.mark.parametrize("text", SAYABLE)
def test_required_saying_has_one_meaning(text: str) -> None:
    """What must be sayable is sayable word for word and means one thing."""
    assert len(GRAMMAR.parse(text, SETTINGS)) == 1
    spelled = GRAMMAR.spelled(text)
    assert any(accepts(GRAMMAR.acceptor(state), spelled) for state in Listening)


def test_other_spellings_are_not_heard_twice() -> None:
    """No phrase is written with a spelling that stands for another one."""
    for state in Listening:
        assert GRAMMAR.acceptor(state).words().isdisjoint(GRAMMAR.spellings)


def test_every_word_is_in_the_shipped_model() -> None:
    """The recogniser silently drops words it lacks, so the grammar has none of them."""
    lines = (MODEL_FOLDER / "graph" / "words.txt").read_text().splitlines()
    known = {line.split()[0] for line in lines}
    for state in Listening:
        assert GRAMMAR.acceptor(state).words() - known == set()


def test_every_phrase_file_has_examples_and_counter_examples() -> None:
    """No phrase file is without examples and counter-examples."""
    files = {phrase.file for phrase in GRAMMAR.phrases}
    assert {example.file for example in GRAMMAR.examples} == files
    assert {file for file, _ in GRAMMAR.refused} == files


@pytest.mark.parametrize("state", Listening)
def test_samples_are_heard_and_parsed(state: Listening) -> None:
    """A phrase that the sampler makes up is accepted and parsed in the same state."""
    rng = random.Random(7)
    for _ in range(300):
        text, meaning = GRAMMAR.sample(rng, state)
        assert accepts(GRAMMAR.acceptor(state), text)
        assert meaning in GRAMMAR.parse(text, SETTINGS, state)


SAYS_AN_ENTRY = [phrase for phrase in GRAMMAR.phrases if phrase.entry is not None]


@pytest.mark.parametrize("file", sorted({phrase.file for phrase in SAYS_AN_ENTRY}))
def test_samples_of_each_file_come_back_as_they_were_said(file: str) -> None:
    """Each wording of a file makes its own kind and no other, is heard, and survives its read-back."""
    rng = random.Random(file)
    acceptor = GRAMMAR.acceptor(Listening.LISTENING)
    for phrase in (one for one in SAYS_AN_ENTRY if one.file == file):
        understood = 0
        for text in (" ".join(sample(phrase.expression, rng)) for _ in range(25)):
            assert accepts(acceptor, text)
            meanings = GRAMMAR.parse(text, SETTINGS)
            assert len(meanings) <= 1, text
            for meaning in meanings:  # none where its values cannot stand together
                assert isinstance(meaning, Statement)
                assert meaning.entry.kind == phrase.entry
                assert GRAMMAR.parse(GRAMMAR.read_back(meaning, SETTINGS), SETTINGS) == (meaning,)
            understood += len(meanings)
        assert understood, phrase.say


def test_asleep_hears_only_the_words_that_wake() -> None:
    """Without a leg, only "start leg" and "resume" can be heard."""
    rng = random.Random(7)
    heard = {GRAMMAR.sample(rng, Listening.ASLEEP)[1] for _ in range(200)}
    assert heard == {Command(talk=Talk.START_LEG), Command(talk=Talk.RESUME)}


def test_every_word_of_the_talk_can_be_said() -> None:
    """No word of the talk is without a phrase."""
    assert {phrase.talk for phrase in GRAMMAR.phrases if phrase.talk} == set(Talk)


def test_entries_are_more_than_one_word() -> None:
    """No entry is a single word, which other talk holds too easily."""
    acceptor = GRAMMAR.acceptor(Listening.LISTENING)
    single = {arc.word for arc in acceptor.arcs[0] if arc.target in acceptor.finals}
    talk = {"confirm", "no", "negative", "resume"}
    assert single == talk
