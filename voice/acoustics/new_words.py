"""New words for a model that is already there, without the tools that built it.

The graph of a model is a loop over its words. A new word is one more way round that loop: a path
from every state in which a word may begin to the states in which one has ended. The old paths are
not touched, so what they score stays what it was. Takes a second or two, needs no network and no
library of its own.

The path is that of `voice.acoustics.graph`: each phone with its blank, each state's self-loop after
the transition that leads into it.
"""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

from voice.acoustics import topology
from voice.acoustics.lexicon_file import format_lexicon, read_lexicon
from voice.acoustics.lookahead import (
    Arc,
    Lookahead,
    State,
    is_end,
    read_lookahead,
    write_lookahead,
)
from voice.acoustics.shipped import LEXICON, vouch

if TYPE_CHECKING:
    from pathlib import Path

    from voice.acoustics.lexicon_file import Lexicon, Pronunciation

_GRAPH, _WORDS = "graph/HCLr.fst", "graph/words.txt"


def with_words(model: Path, taught: Lexicon, target: Path) -> None:
    """Write into ``target`` the model in ``model`` that also knows the words ``taught``.

    A word that it knows already gets those pronunciations that are new. ``target`` must not exist.
    Raises ``LookaheadError`` where the model is not built as the shipped one.
    """
    shutil.copytree(model, target)
    lexicon = read_lexicon(model / LEXICON)
    lines = (model / _WORDS).read_text("utf-8").splitlines()
    ids = {word: int(label) for word, label in (line.split() for line in lines)}
    fst = read_lookahead(model / _GRAPH)
    for word, spoken in taught.items():
        new = tuple(way for way in spoken if way not in lexicon.get(word, ()))
        if word not in ids:
            ids[word] = max(ids.values()) + 1
            lines.append(f"{word} {ids[word]}")
        for way in new:
            _add(fst, ids[word], way)
        lexicon[word] = (*lexicon.get(word, ()), *new)
    write_lookahead(fst, target / _GRAPH)
    (target / _WORDS).write_text("\n".join(lines) + "\n", "utf-8")
    (target / LEXICON).write_text(format_lexicon(lexicon), "utf-8")
    vouch(target)


def _add(fst: Lookahead, word: int, phones: Pronunciation) -> None:
    """Add one way of saying ``word``, a number above all others or one that is there already."""
    fst.deterministic = False
    path = _Path(fst)
    beginnings = [state for state in fst.states if is_end(state)]
    placed = list(zip(phones, topology.positions(len(phones)), strict=True))
    first, *rest = (topology.TRANSITIONS[key] for key in placed)
    ends = path.phone(beginnings, first, word)
    for transitions in rest:
        ends = path.phone(ends, transitions)
    path.close(ends)
    for state in fst.states:
        if _covers(state.words_ahead, fst.end_label) and not _covers(state.words_ahead, word):
            state.words_ahead = _joined([*state.words_ahead, (word, word + 1)])


class _Path:
    """States that are added to a transducer, one phone after the other."""

    def __init__(self, fst: Lookahead) -> None:
        self._fst = fst
        # after a whole word: the pause or the next word; none of them is a self-loop
        self._ended = next(
            s for n, s in enumerate(fst.states) if is_end(s) and n != fst.start and s.final > 0
        )

    def phone(
        self, origins: list[State], ids: topology.PhoneTransitions, word: int = 0
    ) -> list[State]:
        """One phone from each of ``origins``; the states in which it has ended."""
        spoken, left = self._state(ids.stay), self._state(ids.stay)
        blank_left = self._state(ids.blank_stay)
        for origin in origins:
            # a word costs what it costs to end the one before
            cost = origin.final if word else 0.0
            origin.arcs.append(Arc(ids.to_blank, word, cost, spoken))
            origin.arcs.append(Arc(ids.leave, word, cost, left))
        states = self._fst.states
        states[spoken].arcs.append(Arc(ids.blank_leave, 0, 0.0, blank_left))
        return [states[left], states[blank_left]]

    def close(self, ends: list[State]) -> None:
        """From ``ends`` go on as after any other word."""
        ended = self._ended
        here = self._fst.states.index(ended)
        for state in ends:
            state.final = ended.final
            state.arcs += [arc for arc in ended.arcs if (arc.target, arc.cost) != (here, 0.0)]

    def _state(self, loop: int) -> int:
        number = len(self._fst.states)
        ahead = list(self._ended.words_ahead)
        self._fst.states.append(State(float("inf"), [Arc(loop, 0, 0.0, number)], ahead))
        return number


def _covers(ranges: list[tuple[int, int]], label: int) -> bool:
    return any(begin <= label < end for begin, end in ranges)


def _joined(ranges: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """In order, and what touches is one."""
    joined: list[tuple[int, int]] = []
    for begin, end in sorted(ranges):
        if joined and joined[-1][1] >= begin:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((begin, end))
    return joined
