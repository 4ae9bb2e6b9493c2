"""A finite-state acceptor over words: the legal phrases as the recogniser needs them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True)
class Arc:
    """One word that may come next; ``cost`` is added to the path (0 = free, greater = rarer)."""

    word: str
    target: int
    cost: float = 0.0


@dataclass(frozen=True, slots=True)
class Acceptor:
    """A minimal deterministic acyclic word acceptor; state 0 is the start.

    ``arcs[state]`` are the words that may come next, sorted by word; ``finals`` maps each state in
    which a phrase may end to the cost of ending there.
    """

    arcs: tuple[tuple[Arc, ...], ...]
    finals: Mapping[int, float]

    def words(self) -> frozenset[str]:
        """Every word on any arc."""
        return frozenset(arc.word for arcs in self.arcs for arc in arcs)
