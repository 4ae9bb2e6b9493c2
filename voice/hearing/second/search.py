"""The likeliest legal phrases, token by token, beside what would be written without any grammar.

The decoder weighs a beam of unfinished phrases at once, all of them with as many tokens; each may go on only
with tokens that lead to a legal phrase. One more text goes its own way, always with the likeliest token: what
it reaches is what any speech reaches.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    import numpy as np
    from numpy.typing import NDArray

    from voice.hearing.second.network import Decoder, Sound, Told
    from voice.meaning.acceptor import Acceptor, Arc

BEAM = 12
"""Phrases that are gone on with at once; measured in docs/second-listener.md."""
WIDTH = 12.0
"""A phrase that is so far behind the likeliest, in natural logarithm, is given up."""
MOST_TOKENS = 48


@dataclass(slots=True)
class Node:
    """Tokens that words out of one state of the acceptor begin with."""

    after: dict[int, Node] = field(default_factory=dict)
    ended: list[Arc] = field(default_factory=list)
    """The words that are whole here."""


class TokenTries:
    """For each state of an acceptor the tokens that may follow; made when it is first come to."""

    def __init__(
        self, acceptor: Acceptor, spelled: Callable[[str], Iterator[tuple[int, ...]]]
    ) -> None:
        """``spelled`` gives the ways in which a word may be written, each as places of tokens."""
        self.finals = acceptor.finals
        self._arcs = acceptor.arcs
        self._spelled = spelled
        self._known: dict[int, Node] = {}

    def at(self, state: int) -> Node:
        """What may follow in ``state``."""
        if state not in self._known:
            root = Node()
            for arc in self._arcs[state]:
                for tokens in self._spelled(arc.word):
                    node = root
                    for token in tokens:
                        node = node.after.setdefault(token, Node())
                    node.ended.append(arc)
            self._known[state] = root
        return self._known[state]


@dataclass(frozen=True, slots=True)
class Found:
    """A phrase, or what was written freely, with its natural log-likelihood."""

    words: tuple[str, ...]
    tokens: tuple[int, ...]
    score: float


@dataclass(frozen=True, slots=True)
class _Begun:
    """A phrase that is not finished."""

    row: int
    """Which of the texts weighed last it continues."""
    token: int
    score: float
    state: int
    node: Node
    words: tuple[str, ...]
    whole: bool
    """Whether it stands at the end of a word."""


def search(  # noqa: PLR0913 - a decoder, what it looks at, and what may be said
    decoder: Decoder,
    sound: Sound,
    opening: Told,
    tries: TokenTries,
    *,
    first: int,
    end: int,
    most: int,
) -> tuple[list[Found], Found]:
    """The likeliest ``most`` phrases, likeliest first, and what is written without a grammar.

    ``first`` is the token that begins a text after ``opening``, ``end`` the one that ends it.
    """
    weights, told = decoder.weigh([first], sound, opening, None)
    begun = [_Begun(0, first, 0.0, 0, tries.at(0), (), whole=False)]
    free = Found((), (), 0.0)
    free_row: int | None = 0
    finished: list[Found] = []
    for _ in range(MOST_TOKENS):
        finished += _endings(begun, weights, tries, end)
        finished = sorted(finished, key=lambda found: -found.score)[:most]
        if free_row is not None:
            likeliest = int(weights[free_row].argmax())
            free = Found(
                (), (*free.tokens, likeliest), free.score + float(weights[free_row, likeliest])
            )
            if likeliest == end:
                free_row = None
        begun = _best(_continued(begun, weights, tries), finished, most)
        if not begun:
            break
        rows = [one.row for one in begun]
        last = [one.token for one in begun]
        if free_row is not None:
            rows.append(free_row)
            last.append(free.tokens[-1])
            free_row = len(begun)
        begun = [
            _Begun(n, one.token, one.score, one.state, one.node, one.words, whole=one.whole)
            for n, one in enumerate(begun)
        ]
        weights, told = decoder.weigh(last, sound, opening, told.of(rows))
    return finished, free


def _endings(
    begun: list[_Begun], weights: NDArray[np.float32], tries: TokenTries, end: int
) -> Iterator[Found]:
    for one in begun:
        if one.whole and one.state in tries.finals:
            score = one.score + float(weights[one.row, end]) - tries.finals[one.state]
            yield Found(one.words, (), score)


def _continued(
    begun: list[_Begun], weights: NDArray[np.float32], tries: TokenTries
) -> Iterator[_Begun]:
    for one in begun:
        for token, node in one.node.after.items():
            score = one.score + float(weights[one.row, token])
            if node.after:
                yield _Begun(one.row, token, score, one.state, node, one.words, whole=False)
            for arc in node.ended:
                words = (*one.words, arc.word)
                root = tries.at(arc.target)
                yield _Begun(one.row, token, score - arc.cost, arc.target, root, words, whole=True)


def _best(begun: Iterator[_Begun], finished: list[Found], most: int) -> list[_Begun]:
    """Those that are worth going on with."""
    best = sorted(begun, key=lambda one: -one.score)[:BEAM]
    least = (
        max([one.score for one in best[:1]] + [found.score for found in finished[:1]], default=0.0)
        - WIDTH
    )
    if len(finished) == most:
        least = max(least, finished[-1].score)
    return [one for one in best if one.score > least]
