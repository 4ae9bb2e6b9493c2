"""From the expression tree to the minimal deterministic acceptor that the recogniser follows.

The textbook way: a non-deterministic automaton is built from the end of each phrase to its start (so
that equal endings are shared from the first), made deterministic by sets of states, and minimised;
as there are no loops, minimising is merging equal states from the ends backwards. Source: Hopcroft,
Motwani, Ullman, Introduction to Automata Theory; Daciuk et al. 2000 for the acyclic case (memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from voice.meaning.acceptor import Acceptor, Arc
from voice.meaning.expression import Either, Marked, Row, Slot, Word

if TYPE_CHECKING:
    from voice.meaning.expression import Expression

_Set = frozenset[int]


def compile_acceptor(expression: Expression) -> Acceptor:
    """The minimal deterministic acceptor of all phrases of ``expression``."""
    automaton = _Backwards()
    start = automaton.before(expression, _END)
    return _minimal(*_deterministic(automaton, start))


_END = 0


class _Backwards:
    """The non-deterministic automaton: the words and the empty steps that leave each state."""

    def __init__(self) -> None:
        self.steps: list[list[tuple[str, int]]] = [[]]
        self.skips: list[list[int]] = [[]]
        self._known: dict[tuple[int, int], int] = {}
        self._tries: dict[int, _Shared] = {}

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
                return self._state([], [self.before(part, after) for part in parts])
            case Marked(part, _):
                return self.before(part, after)
            case Slot():
                return self._slot(node, after)

    def _state(self, steps: list[tuple[str, int]], skips: list[int]) -> int:
        self.steps.append(steps)
        self.skips.append(skips)
        return len(self.steps) - 1

    def _slot(self, slot: Slot, after: int) -> int:
        shared = self._tries.setdefault(id(slot.forms), _Shared(slot))
        copies: list[int] = []
        for arcs, ends in shared.nodes:
            copies.append(
                self._state([(word, copies[to]) for word, to in arcs], [after] if ends else [])
            )
        return copies[-1]


class _Shared:
    """A slot's forms as a graph in which equal endings are one; the start is the last node."""

    def __init__(self, slot: Slot) -> None:
        self.nodes: list[tuple[tuple[tuple[str, int], ...], bool]] = []
        self._known: dict[Any, int] = {}
        self._add(slot.trie)

    def _add(self, trie: dict[str, Any]) -> int:
        arcs = tuple((word, self._add(to)) for word, to in sorted(trie.items()) if word)
        node = (arcs, "" in trie)
        if node not in self._known:
            self._known[node] = len(self.nodes)
            self.nodes.append(node)
        return self._known[node]


def _deterministic(automaton: _Backwards, start: int) -> tuple[list[dict[str, int]], list[bool]]:
    """States as sets of states; the start is the first."""
    reach: dict[int, _Set] = {}

    def closed(state: int) -> _Set:
        if state not in reach:
            reach[state] = frozenset({state}).union(*map(closed, automaton.skips[state]))
        return reach[state]

    first = closed(start)
    numbers: dict[_Set, int] = {first: 0}
    waiting = [first]
    arcs: list[dict[str, int]] = []
    ends: list[bool] = []
    for states in waiting:
        targets: dict[str, _Set] = {}
        for state in states:
            for word, target in automaton.steps[state]:
                reached = closed(target)
                targets[word] = targets[word] | reached if word in targets else reached
        row: dict[str, int] = {}
        for word, target_set in targets.items():
            if target_set not in numbers:
                numbers[target_set] = len(numbers)
                waiting.append(target_set)
            row[word] = numbers[target_set]
        arcs.append(row)
        ends.append(_END in states)
    return arcs, ends


def _minimal(arcs: list[dict[str, int]], ends: list[bool]) -> Acceptor:
    """Equal states merged, from the ends backwards; numbered from the start, nearest first."""
    merged: dict[int, int] = {}
    known: dict[Any, int] = {}
    rows: list[tuple[tuple[tuple[str, int], ...], bool]] = []

    def merge(state: int) -> int:
        if state not in merged:
            row = (tuple((w, merge(t)) for w, t in sorted(arcs[state].items())), ends[state])
            if row not in known:
                known[row] = len(rows)
                rows.append(row)
            merged[state] = known[row]
        return merged[state]

    order = [merge(0)]
    numbers = {order[0]: 0}
    for state in order:
        for _, target in rows[state][0]:
            if target not in numbers:
                numbers[target] = len(order)
                order.append(target)
    return Acceptor(
        arcs=tuple(
            tuple(Arc(word, numbers[target]) for word, target in rows[state][0]) for state in order
        ),
        finals={numbers[state]: 0.0 for state in order if rows[state][1]},
    )
