"""From the expression tree to the minimal deterministic acceptor that the recogniser follows.

The textbook way: a non-deterministic automaton is built from the end of each phrase to its start (so
that equal endings are shared from the first), made deterministic by sets of states, and minimised;
as there are no loops, minimising is merging equal states from the ends backwards. Sources (from
memory): Hopcroft, Motwani, Ullman, Introduction to Automata Theory; Daciuk et al. 2000.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from voice.meaning.acceptor import Acceptor, Arc
from voice.meaning.bounds import MOST_STATES
from voice.meaning.expression import Either, Marked, Row, Slot, Word
from voice.meaning.phrase import GrammarError

if TYPE_CHECKING:
    from voice.meaning.expression import Expression

_Costs = frozenset[tuple[int, float]]
"""States that may be the present one, each with what it costs beyond the cheapest of them."""

_END = 0


def compile_acceptor(expression: Expression) -> Acceptor:
    """The deterministic acceptor of all phrases of ``expression``, equal states merged.

    A phrase costs what its cheapest way through the tree costs; the cost stands on the first word
    that is not shared with a cheaper phrase. Raises GrammarError where the phrases are too many.
    """
    automaton = _Backwards()
    start = automaton.before(expression, _END)
    return _merged(_deterministic(automaton, start))


class _Backwards:
    """The non-deterministic automaton: the words and the empty steps that leave each state."""

    def __init__(self) -> None:
        self.steps: list[list[tuple[str, int]]] = [[]]
        self.skips: list[list[tuple[int, float]]] = [[]]
        self._known: dict[tuple[int, int], int] = {}
        self._slots: dict[Slot, _Shared] = {}

    def before(self, node: Expression, after: int) -> int:
        """The state from which ``node`` leads to ``after``."""
        key = (id(node), after)
        if key not in self._known:
            self._known[key] = self._build(node, after)
        return self._known[key]

    def _build(self, node: Expression, after: int) -> int:
        match node:
            case Word(text):
                return self._state([(text, after)], [])
            case Row(parts):
                for part in reversed(parts):
                    after = self.before(part, after)
                return after
            case Either(parts):
                return self._state([], [(self.before(part, after), 0.0) for part in parts])
            case Marked(part, _, cost):
                return self._state([], [(self.before(part, after), cost)])
            case Slot():
                return self._slot(node, after)

    def _state(self, steps: list[tuple[str, int]], skips: list[tuple[int, float]]) -> int:
        self.steps.append(steps)
        self.skips.append(skips)
        return len(self.steps) - 1

    def _slot(self, slot: Slot, after: int) -> int:
        copies: list[int] = []
        if slot not in self._slots:
            self._slots[slot] = _Shared(slot)
        for arcs, ends in self._slots[slot].nodes:
            steps = [(word, copies[to]) for word, to in arcs]
            copies.append(self._state(steps, [(after, 0.0)] if ends else []))
        return copies[-1]


_Trie = dict[str, "_Trie"]
"""The forms of a slot by their words; a form ends where there is an empty word."""


class _Shared:
    """A slot's forms as a graph in which equal endings are one; the start is the last node."""

    def __init__(self, slot: Slot) -> None:
        self.nodes: list[tuple[tuple[tuple[str, int], ...], bool]] = []
        self._known: dict[Any, int] = {}
        self._add(_trie(slot))

    def _add(self, trie: _Trie) -> int:
        arcs = tuple((word, self._add(to)) for word, to in sorted(trie.items()) if word)
        node = (arcs, "" in trie)
        if node not in self._known:
            self._known[node] = len(self.nodes)
            self.nodes.append(node)
        return self._known[node]


def _trie(slot: Slot) -> _Trie:
    root: _Trie = {}
    for form in slot.forms:
        node = root
        for word in form:
            node = node.setdefault(word, {})
        node[""] = {}
    return root


_States = list[tuple[dict[str, tuple[int, float]], float | None]]
"""For each state its words, with target and cost, and the cost of ending there if one may."""


def _deterministic(automaton: _Backwards, start: int) -> _States:
    """States as sets of states; the start is the first. Source: Mohri 1997 (from memory).

    A set holds only where words lead to, not what follows from there without a word: a place in
    which any entry may begin is then one state, not hundreds.
    """
    leaving: dict[int, tuple[dict[str, dict[int, float]], float]] = {}

    def words_from(state: int) -> tuple[dict[str, dict[int, float]], float]:
        """Where each word leads and at what cost, and the cost of ending here."""
        if state not in leaving:
            words: dict[str, dict[int, float]] = {}
            for word, target in automaton.steps[state]:
                words.setdefault(word, {})[target] = 0.0
            end = 0.0 if state == _END else math.inf
            for target, cost in automaton.skips[state]:
                end = min(end, _cheapest(words, words_from(target), cost))
            leaving[state] = (words, end)
        return leaving[state]

    first: _Costs = frozenset({(start, 0.0)})
    numbers: dict[_Costs, int] = {first: 0}
    waiting = [first]
    found: _States = []
    for present in waiting:
        reached: dict[str, dict[int, float]] = {}
        ends = [_cheapest(reached, words_from(state), cost) for state, cost in present]
        words: dict[str, tuple[int, float]] = {}
        for word, costs in reached.items():
            least = min(costs.values())
            following = frozenset((state, round(cost - least, 6)) for state, cost in costs.items())
            if following not in numbers:
                if len(numbers) == MOST_STATES:
                    raise GrammarError(
                        "The phrases together can be said in more ways than can be listened for. "
                        "Take out optional words, or values that nobody says."
                    )
                numbers[following] = len(numbers)
                waiting.append(following)
            words[word] = (numbers[following], least)
        end = min(ends)
        found.append((words, None if end == math.inf else end))
    return found


def _cheapest(
    words: dict[str, dict[int, float]],
    more: tuple[dict[str, dict[int, float]], float],
    extra: float,
) -> float:
    """Take into ``words`` what ``more`` leads to at ``extra`` cost; what ending there costs."""
    others, end = more
    for word, targets in others.items():
        costs = words.setdefault(word, {})
        for state, cost in targets.items():
            if cost + extra < costs.get(state, math.inf):
                costs[state] = cost + extra
    return end + extra


def _merged(states: _States) -> Acceptor:
    """Equal states are one, from the ends backwards; numbered from the start, nearest first."""
    merged: dict[int, int] = {}
    known: dict[Any, int] = {}
    rows: list[tuple[tuple[tuple[str, int, float], ...], float | None]] = []

    def merge(state: int) -> int:
        if state not in merged:
            words, end = states[state]
            arcs = tuple((w, merge(target), cost) for w, (target, cost) in sorted(words.items()))
            if (arcs, end) not in known:
                known[arcs, end] = len(rows)
                rows.append((arcs, end))
            merged[state] = known[arcs, end]
        return merged[state]

    order = [merge(0)]
    numbers = {order[0]: 0}
    for state in order:
        for _, target, _ in rows[state][0]:
            if target not in numbers:
                numbers[target] = len(order)
                order.append(target)
    return Acceptor(
        arcs=tuple(
            tuple(Arc(word, numbers[target], cost) for word, target, cost in rows[state][0])
            for state in order
        ),
        finals={numbers[s]: end for s in order if (end := rows[s][1]) is not None},
    )
