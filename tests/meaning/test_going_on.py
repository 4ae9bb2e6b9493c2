"""No half of a phrase passes for a whole one."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings

from tests.meaning.test_automaton import TREES
from voice.entries.leg import LegSettings
from voice.meaning.automaton import compile_acceptor
from voice.meaning.expression import Expression, wordings
from voice.meaning.going_on import is_whole
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening

GRAMMAR = load_grammar()
STATES = (Listening.CHECKING, Listening.CHOOSING)
"""All that can be said is legal in one of them."""
DRAWN = 40
"""Phrases drawn from each, besides all examples."""


@pytest.mark.parametrize("state", STATES)
def test_no_half_of_a_phrase_is_whole(state: Listening) -> None:
    """Of every example and of phrases drawn at random, no part before a word is whole, but for "confirm"."""
    legal = [e.text for e in GRAMMAR.examples if GRAMMAR.parse(e.text, LegSettings(), state)]
    drawn = [GRAMMAR.sample(random.Random(n), state)[0] for n in range(DRAWN)]
    spoken = [GRAMMAR.spelled(phrase).split() for phrase in legal + drawn]
    for half in {" ".join(words[:count]) for words in spoken for count in range(1, len(words))}:
        if half == "confirm":
            continue  # nothing is lost by a pause behind it
        assert not GRAMMAR.is_whole(half, state)


@settings(max_examples=50)
@given(TREES)
def test_what_is_whole_is_a_dead_end_of_the_acceptor(tree: Expression) -> None:
    """Words are whole if, and only if, the recogniser may end after them and not go on."""
    acceptor = compile_acceptor(tree)
    for phrase in wordings(tree)[:20]:
        state = 0
        for count, word in enumerate(phrase, start=1):
            (state,) = [arc.target for arc in acceptor.arcs[state] if arc.word == word]
            dead_end = state in acceptor.finals and not acceptor.arcs[state]
            assert is_whole(tree, phrase[:count]) is dead_end


@pytest.mark.parametrize(
    ("text", "whole"),
    [
        ("confirm", True),
        ("stand by", True),
        ("drain clamped five minutes ago", True),
        ("drain clamped", False),  # "five minutes ago"
        ("drained twelve mils", False),  # "heart rate eighty eight"
        ("pressure fourteen", False),  # "point five"
        ("no", False),  # "no drip"
        ("drain", False),
        ("hello there", False),
    ],
)
def test_what_is_whole(text: str, *, whole: bool) -> None:
    """A word of the talk is whole; an entry is not while a time, a further one or a figure may follow."""
    assert GRAMMAR.is_whole(text, Listening.CONFIRMING) is whole
