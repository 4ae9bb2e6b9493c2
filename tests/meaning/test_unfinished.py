"""Phrases that broke off, as the recogniser may hear them, and what they lack."""

from __future__ import annotations

import pytest

from tests.hearing.conftest import acceptor_of
from tests.meaning.acceptors import accepts
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening
from voice.meaning.unfinished import BREAKING_OFF_COST, Lacks, with_beginnings

GRAMMAR = load_grammar()
PHRASES = acceptor_of("secretary pressure fourteen", "secretary pressure fourteen point five")


def test_every_beginning_may_be_heard_at_a_cost() -> None:
    """A phrase may end after any word, whole phrases at no other cost than before, and never before the first."""
    found = with_beginnings(PHRASES)
    words = ["secretary", "pressure", "fourteen", "point", "five"]
    assert all(accepts(found, " ".join(words[:n])) for n in range(1, 6))
    assert not accepts(found, "")
    assert not accepts(found, "pressure")
    assert found.arcs == PHRASES.arcs
    for state in range(1, len(found.arcs)):
        assert found.finals[state] == PHRASES.finals.get(state, BREAKING_OFF_COST)


def test_a_call_is_no_beginning() -> None:
    """The attention word alone is nothing that broke off."""
    found = with_beginnings(PHRASES, longer_than=1)
    assert not accepts(found, "secretary")
    assert accepts(found, "secretary pressure")


@pytest.mark.parametrize(
    ("text", "lacks"),
    [
        ("arterial carbon dioxide", Lacks.NUMBER),
        ("fentanyl", Lacks.NUMBER),
        ("at ten seventeen peep", Lacks.NUMBER),
        ("at ten seventeen", Lacks.ENTRY),
        ("at ten", Lacks.ENTRY),
        ("five minutes ago", Lacks.ENTRY),
        ("fentanyl fifty", Lacks.REST),
        ("catheter placed on", Lacks.REST),
        ("pressure fourteen at ten", Lacks.REST),
        ("correction", Lacks.REST),
        ("no wait", Lacks.REST),
        ("no wait peep", Lacks.NUMBER),
    ],
)
def test_what_is_lacking_is_known(text: str, lacks: Lacks) -> None:
    """A number that has not begun can be asked for; a time alone lacks its entry; all else has to be said again."""
    assert not GRAMMAR.is_phrase(text, Listening.LISTENING)
    assert GRAMMAR.lacks(text, Listening.LISTENING) is lacks


def test_what_is_lacking_is_known_behind_a_call() -> None:
    """The attention word before a beginning changes nothing in what it lacks."""
    guarded = GRAMMAR.guarded("secretary")
    assert guarded.lacks("secretary at ten", Listening.CONFIRMING) is Lacks.ENTRY
    assert guarded.is_phrase("secretary pressure nine", Listening.CONFIRMING)
    assert not guarded.is_phrase("pressure nine", Listening.CONFIRMING)
