"""What can still be said where the recogniser lacks words."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import pytest

from tests.hearing.conftest import acceptor_of
from tests.meaning.acceptors import accepts
from voice.entries.leg import LegSettings
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening
from voice.meaning.narrowing import left_out, missing_needed, narrowed, spellings_for

if TYPE_CHECKING:
    from voice.meaning.acceptor import Acceptor

GRAMMAR = load_grammar()
WORDS = frozenset().union(*(GRAMMAR.acceptor(state).words() for state in Listening))


def phrases(acceptor: Acceptor, state: int = 0) -> set[str]:
    """Every phrase of a small acceptor."""
    found = {""} if state in acceptor.finals else set()
    for arc in acceptor.arcs[state]:
        found |= {f"{arc.word} {rest}".strip() for rest in phrases(acceptor, arc.target)}
    return found


def test_phrases_with_a_lacking_word_are_left_out_and_others_respelled() -> None:
    """What remains are the phrases of known words alone, each spelled as it is known."""
    whole = acceptor_of("drain leveled", "drain open", "drain zeroed", "zero failed", "confirm")
    spelled = {"drain": "drain", "leveled": "levelled", "open": "open", "confirm": "confirm"}
    left = narrowed(whole, {**spelled, "zero": "zero"})
    assert phrases(left) == {"drain levelled", "drain open", "confirm"}
    for arcs in left.arcs:
        assert [arc.word for arc in arcs] == sorted(arc.word for arc in arcs)
    assert len(left.arcs) == 5  # no state is left that leads nowhere


def test_nothing_is_left_out_where_every_word_is_known() -> None:
    """With all its words the acceptor stays as it was, and nothing is listed."""
    spelled = spellings_for(GRAMMAR, WORDS)
    for state in Listening:
        assert narrowed(GRAMMAR.acceptor(state), spelled) == GRAMMAR.acceptor(state)
    assert left_out(GRAMMAR, spelled) == ()
    assert missing_needed(GRAMMAR, spelled) == ()


@pytest.mark.parametrize("seed", range(5))
def test_a_phrase_remains_just_where_all_its_words_are_known(seed: int) -> None:
    """A sampled phrase is accepted by the narrowed acceptor if and only if it can be said."""
    rng = random.Random(seed)
    known = set(rng.sample(sorted(WORDS), len(WORDS) * 9 // 10))
    whole = GRAMMAR.acceptor(Listening.LISTENING)
    left = narrowed(whole, {word: word for word in known})
    kept = 0
    for _ in range(200):
        text, _ = GRAMMAR.sample(rng, Listening.LISTENING)
        sayable = set(text.split()) <= known
        kept += sayable
        assert accepts(left, text) is sayable, text
    assert 0 < kept < 200


def test_another_spelling_takes_the_place_of_a_lacking_word() -> None:
    """Who knows "colour" only can hear "color", and its meaning stays the same."""
    known = (WORDS - {"color", "leveled"}) | {"colour", "levelled"}
    spelled = spellings_for(GRAMMAR, known)
    assert spelled["color"] == "colour"
    assert left_out(GRAMMAR, spelled) == ()
    left = narrowed(GRAMMAR.acceptor(Listening.LISTENING), spelled)
    assert accepts(left, "colour yellow")
    assert not accepts(left, "color yellow")
    assert spellings_for(GRAMMAR, WORDS | {"colour"})["color"] == "color"
    settings = LegSettings()
    assert GRAMMAR.parse("colour yellow", settings) == GRAMMAR.parse("color yellow", settings) != ()


def test_what_is_left_out_is_listed_with_what_can_be_said_instead() -> None:
    """A lost phrase tells its words, lost values, and the wording that remains if there is one."""
    known = WORDS - {"fentanyl", "filter", "e"}
    lost = {(one.phrase.entry, one.words): one for one in left_out(GRAMMAR, known)}
    drug = lost["drug_given", ("fentanyl",)]
    assert drug.values == ("fentanyl",)
    assert drug.instead is not None
    assert drug.instead.endswith("micrograms")
    wet = lost["filter_wet", ("e", "filter")]
    assert (wet.values, wet.instead) == ((), None)
    opened = lost["drain_opened", ("e",)]
    assert (opened.values, opened.instead) == ((), "drain open")


@pytest.mark.parametrize(
    ("word", "told"),
    [("seven", "seven"), ("fifty", "fifty"), ("resume", "resume"), ("drain", "drain level")],
)
def test_what_a_leg_needs_is_told_where_it_cannot_be_said(word: str, told: str) -> None:
    """Numbers, the words of the talk, and the entries that no leg goes without are needed."""
    lacking = {word, "e"} if word == "drain" else {word}
    assert told in missing_needed(GRAMMAR, WORDS - lacking)


def test_a_word_that_has_another_is_not_needed() -> None:
    """Without "nought", zero can be said, and without "negative" there is "no"."""
    assert missing_needed(GRAMMAR, WORDS - {"nought", "negative"}) == ()
