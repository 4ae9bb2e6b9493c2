"""The legal phrases as the tokens that write them: what may follow, wherever one is."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from voice.hearing.second.writings import MOST_LETTERS, abbreviations, spoken, writings

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from voice.meaning.acceptor import Acceptor, Arc

    Places = tuple[int, ...]

_START = 0


class Step(NamedTuple):
    """Words that may come next, the state they lead to, and what they cost."""

    words: tuple[str, ...]
    target: int
    cost: float


@dataclass(slots=True)
class Node:
    """Tokens that the words out of one state of the acceptor begin with."""

    after: dict[int, Node] = field(default_factory=dict)
    ended: list[Step] = field(default_factory=list)
    """What has been said when the tokens end here."""


class Phrases:
    """The phrases of an acceptor; what may follow in a state is made out when it is first come to."""

    def __init__(
        self,
        acceptor: Acceptor,
        tokens: Callable[[str], Places | None],
        figures: Mapping[int, str] | None = None,
    ) -> None:
        """``tokens`` gives those of a text, or ``None`` where some are not known.

        ``figures`` are the tokens that are numbers, with what they show.
        """
        self.finals = acceptor.finals
        self.figures = figures or {}
        self._arcs = acceptor.arcs
        self._tokens = tokens
        self.at = cache(self._at)
        self.said = cache(self._said)

    def _at(self, state: int) -> Node:
        """What may follow in ``state``, but for figures."""
        root = Node()
        for step, text in self._written(state):
            node = root
            for token in self._tokens(text) or ():
                node = node.after.setdefault(token, Node())
            if node is not root:
                node.ended.append(step)
        return root

    def _written(self, state: int) -> Iterator[tuple[Step, str]]:
        for arc in self._arcs[state]:
            step = Step((arc.word,), arc.target, arc.cost)
            for text in dict.fromkeys(writings(arc.word, first=state == _START)):
                yield step, text
        for step in _letters(self._arcs, Step((), state, 0.0)):
            for text in abbreviations(step.words):
                yield step, text

    def _said(self, state: int, figures: str) -> Step | None:
        """What may have been said in ``state`` where ``figures`` were written; none: nothing legal."""
        for words in spoken(figures):
            step = Step((), state, 0.0)
            for word in words:
                arc = next((a for a in self._arcs[step.target] if a.word == word), None)
                if arc is None:
                    break
                step = Step((*step.words, word), arc.target, step.cost + arc.cost)
            else:
                return step
        return None


def texts(acceptor: Acceptor) -> set[str]:
    """All that is written of an acceptor's phrases, word by word and letters together, but for figures."""
    together = {
        text
        for state in range(len(acceptor.arcs))
        for step in _letters(acceptor.arcs, Step((), state, 0.0))
        for text in abbreviations(step.words)
    }
    return together | {text for word in acceptor.words() for text in writings(word, first=True)}


def _letters(arcs: Sequence[Sequence[Arc]], before: Step) -> Iterator[Step]:
    """Everything of letters alone, two at least, that may follow."""
    if len(before.words) == MOST_LETTERS:
        return
    for arc in arcs[before.target]:
        if len(arc.word) == 1:
            step = Step((*before.words, arc.word), arc.target, before.cost + arc.cost)
            if before.words:
                yield step
            yield from _letters(arcs, step)
