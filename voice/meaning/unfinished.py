"""Phrases that broke off: what was said, if the speaker paused in the middle of a phrase.

A recogniser that knows whole phrases only must end one, so it puts in what has not been said: "arterial
carbon dioxide" becomes "arterial carbon dioxide two". With beginnings of phrases beside it, what was really
said is the likelier. A beginning means nothing: it is waited for the rest, and asked for it.
"""

from __future__ import annotations

from collections import deque
from enum import StrEnum
from typing import TYPE_CHECKING

from voice.meaning.acceptor import Acceptor
from voice.meaning.going_on import Walk

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from voice.meaning.expression import Expression, Slot
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
    if _begins_any(words, times) and not _begins_any(words, others):
        return Lacks.ENTRY
    walk = Walk(words, to_the_end=True)
    walk.ends(expression, 0)
    return Lacks.NUMBER if any(map(_is_number, walk.asked_for)) else Lacks.REST


def _begins_any(words: Sequence[str], expressions: Iterable[Expression]) -> bool:
    return any(Walk(words).begins(expression) for expression in expressions)


def _is_number(slot: Slot) -> bool:
    return slot.field not in _OF_A_TIME and _NUMBER_WORD in slot.firsts
