"""Phrases that broke off: what was said, if the speaker paused in the middle of a phrase.

A recogniser that knows whole phrases only must end one, so it puts in what has not been said: "arterial
carbon dioxide" becomes "arterial carbon dioxide two". With beginnings of phrases beside it, what was really
said is the likelier. A beginning means nothing: it is waited for the rest, and asked for it.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from voice.meaning.acceptor import Acceptor
from voice.meaning.expression import Either, Marked, Row, Slot, Word

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from voice.meaning.expression import Expression
    from voice.meaning.phrase import Phrase

BREAKING_OFF_COST = 2.0
"""How much rarer a phrase breaks off than it is said to its end, as a natural logarithm (a guess; docs/bench.md
has what came of it)."""
_NUMBER_WORD = "seven"
"""Begins a number of every range of more than a few."""
_OF_A_TIME = frozenset({"minutes", "hour", "minute", "day", "month"})
"""Slots of times and dates, which are not asked for by how much."""


class Lacks(StrEnum):
    """What a beginning lacks, as far as it can be asked for."""

    ENTRY = "its entry"
    """It is a time, or the beginning of one."""
    NUMBER = "a number"
    REST = "its rest"
    """Words, which cannot be asked for in one."""


def with_beginnings(acceptor: Acceptor, *, longer_than: int = 0) -> Acceptor:
    """The phrases of ``acceptor`` and, at a cost, every beginning of more than ``longer_than`` words."""
    depths = {0: 0}
    reached = deque([0])
    while reached:
        state = reached.popleft()
        for arc in acceptor.arcs[state]:
            if arc.target not in depths:
                depths[arc.target] = depths[state] + 1
                reached.append(arc.target)
    beginnings = {s: BREAKING_OFF_COST for s, depth in depths.items() if depth > longer_than}
    return Acceptor(acceptor.arcs, beginnings | dict(acceptor.finals))


def lacks(text: str, expression: Expression, phrases: Iterable[Phrase]) -> Lacks:
    """What ``text``, the beginning of a phrase of ``expression``, lacks; ``phrases`` are what that is made of."""
    words = text.split()
    times: list[Expression] = []
    others: list[Expression] = []
    for phrase in phrases:
        (others if phrase.place is None else times).append(phrase.expression)
    if _Beginning(words).in_any(times) and not _Beginning(words).in_any(others):
        return Lacks.ENTRY
    beginning = _Beginning(words)
    beginning.in_any([expression])
    return Lacks.NUMBER if beginning.lacks_number else Lacks.REST


@dataclass
class _Beginning:
    """Follows expressions along some words, and notes whether one ends with the last or goes on after it."""

    words: Sequence[str]
    goes_on: bool = False
    lacks_number: bool = False
    """Whether a number may begin after the last word."""

    def in_any(self, expressions: Iterable[Expression]) -> bool:
        """Whether the words begin a phrase of one of them, or are one."""
        ends = [self._ends(expression, 0) for expression in expressions]
        return self.goes_on or any(len(self.words) in found for found in ends)

    def _ends(self, node: Expression, at: int) -> set[int]:
        match node:
            case Word(text):
                if at == len(self.words):
                    self.goes_on = True
                    return set()
                return {at + 1} if self.words[at] == text else set()
            case Row(parts):
                reached = {at}
                for part in parts:
                    reached = {end for start in reached for end in self._ends(part, start)}
                return reached
            case Either(parts):
                return {end for part in parts for end in self._ends(part, at)}
            case Slot():
                return self._slot_ends(node, at)
            case Marked(part):
                return self._ends(part, at)

    def _slot_ends(self, slot: Slot, at: int) -> set[int]:
        rest = tuple(self.words[at:])
        if not rest or rest[0] in slot.firsts:
            count = len(rest)
            self.goes_on |= any(len(f) > count and f[:count] == rest for f in slot.forms)
        if not rest and slot.field not in _OF_A_TIME:
            self.lacks_number |= _NUMBER_WORD in slot.firsts
        return {end for end, _ in slot.beginning(self.words, at)}
