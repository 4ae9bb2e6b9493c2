"""The acceptor against the phrases listed one by one."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

from hypothesis import given
from hypothesis import strategies as st

from voice.meaning.automaton import compile_acceptor
from voice.meaning.expression import (
    NOTHING,
    Either,
    Expression,
    Marked,
    Row,
    Slot,
    Word,
    match,
    wordings,
)
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening

if TYPE_CHECKING:
    from voice.meaning.acceptor import Acceptor

WORDS = st.sampled_from(["one", "two", "five", "over"]).map(Word)
SLOTS = st.dictionaries(
    st.lists(st.sampled_from(["one", "two", "five"]), min_size=1, max_size=3).map(tuple),
    st.integers(0, 9),
    min_size=1,
    max_size=5,
).map(lambda forms: Slot("value", forms))


def grown(parts: st.SearchStrategy[Expression]) -> st.SearchStrategy[Expression]:
    """Larger trees out of smaller ones."""
    some = st.lists(parts, min_size=1, max_size=3).map(tuple)
    return (
        some.map(Row)
        | some.map(Either)
        | some.map(lambda s: Either((*s, NOTHING)))
        | st.builds(Marked, parts, st.integers(0, 3), st.sampled_from([0.0, 1.0, 2.5]))
    )


TREES: st.SearchStrategy[Expression] = st.recursive(WORDS | SLOTS, grown, max_leaves=8)


def listed(acceptor: Acceptor) -> dict[tuple[str, ...], float]:
    """Every phrase of the acceptor, with its cost."""
    found: dict[tuple[str, ...], float] = {}
    waiting: list[tuple[int, tuple[str, ...], float]] = [(0, (), 0.0)]
    for state, words, cost in waiting:
        if state in acceptor.finals:
            found[words] = cost + acceptor.finals[state]
        waiting += [(a.target, (*words, a.word), cost + a.cost) for a in acceptor.arcs[state]]
    return found


def cheapest(tree: Expression) -> dict[tuple[str, ...], float]:
    """Every phrase of the tree, with the cost of its cheapest way, worked out the plain way."""
    match tree:
        case Row(parts):
            found: dict[tuple[str, ...], float] = {(): 0.0}
            for part in parts:
                longer: dict[tuple[str, ...], float] = {}
                for words, cost in found.items():
                    for more, extra in cheapest(part).items():
                        longer[words + more] = min(cost + extra, longer.get(words + more, math.inf))
                found = longer
            return found
        case Either(parts):
            found = {}
            for part in parts:
                for words, cost in cheapest(part).items():
                    found[words] = min(cost, found.get(words, math.inf))
            return found
        case Marked(part, _, cost):
            return {words: extra + cost for words, extra in cheapest(part).items()}
        case _:
            return dict.fromkeys(wordings(tree), 0.0)


@given(TREES)
def test_acceptor_spells_exactly_the_phrases_of_the_tree(tree: Expression) -> None:
    """The acceptor has the phrases of the tree, no others, each at its least cost."""
    assert listed(compile_acceptor(tree)) == cheapest(tree)


@given(TREES)
def test_parser_covers_exactly_the_phrases_of_the_tree(tree: Expression) -> None:
    """What the acceptor spells is what the parser covers."""
    phrases = set(wordings(tree))
    for words in phrases:
        assert any(True for _ in match(tree, words))
        for longer in ((*words, "one"), words[:-1]):
            assert any(True for _ in match(tree, longer)) == (longer in phrases)


def equal_endings(acceptor: Acceptor) -> int:
    """How many pairs of states have the same arcs and ends; none where it is minimal.

    Source: an acyclic deterministic automaton without such a pair is minimal (Revuz 1992, from
    memory).
    """
    rows = [(acceptor.arcs[s], acceptor.finals.get(s)) for s in range(len(acceptor.arcs))]
    return len(rows) - len(set(rows))


def test_acceptor_of_the_grammar_is_deterministic_and_minimal() -> None:
    """No state has two arcs of one word, no two states are equal, and none leads nowhere."""
    for state in Listening:
        acceptor = load_grammar().acceptor(state)
        for arcs in acceptor.arcs:
            assert all(a.word < b.word for a, b in pairwise(arcs))
        assert equal_endings(acceptor) == 0
        dead = [s for s, arcs in enumerate(acceptor.arcs) if not arcs and s not in acceptor.finals]
        assert dead == []


def test_acceptor_is_compiled_once() -> None:
    """Asking again gives the same acceptor."""
    grammar = load_grammar()
    assert grammar.acceptor(Listening.LISTENING) is grammar.acceptor(Listening.LISTENING)
