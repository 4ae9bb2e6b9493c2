"""From a lexicon to the graph folder of a model that Vosk can load.

    python -m voice.acoustics.graph MODEL_FOLDER

reads ``graph/lexicon.txt`` and writes beside it ``HCLr.fst``, ``Gr.fst``, ``words.txt``,
``disambig_tid.int`` and ``phones/word_boundary.int``. It runs as a process of its own:
``kaldifst`` and ``vosk`` imported into one process make it hang. Besides ``kaldifst`` it needs
``fstconvert`` with its look-ahead library (Debian: ``libfst-tools``).

The lexicon becomes a transducer from transition ids to words: determinised, minimised, with the
self-loop of each state after the transition that leads out of it ("reordered"), then converted to
OpenFst's output-label look-ahead type, which numbers the words anew.

Source: Kaldi, "Decoding graph construction", and ``utils/mkgraph_lookahead.sh``.
"""

from __future__ import annotations

import math
import os
import subprocess
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from voice.acoustics import topology
from voice.acoustics.lexicon_file import read_lexicon

if TYPE_CHECKING:
    from voice.acoustics.lexicon_file import Lexicon

UNKNOWN = "[unk]"
"""Speech that is none of the words: a loop over all phones."""
UNKNOWN_PHONE_COST = 2.5
"""Cost of each phone in that loop; the grammar adds a cost for each use."""
_PAUSE_COST = -math.log(0.5)
"""A pause between two words is as likely as none."""
_LOOKAHEAD_LIBRARY = "libfstlookahead.so.22"
"""Debian 12's; without it, ``fstconvert`` does not know the type."""

_Arc = tuple[int, int, int, int, float]
"""From, to, transition id (0: none), word id (0: none), cost."""


@dataclass(slots=True)
class _Transducer:
    arcs: list[_Arc] = field(default_factory=list)
    finals: dict[int, float] = field(default_factory=dict)
    states: int = 0
    start: int = 0

    def state(self) -> int:
        self.states += 1
        return self.states - 1

    def text(self) -> str:
        """As OpenFst's tools print it; the first arc's source is the start."""
        lines = [f"{a} {b} {i} {o} {cost:g}" for a, b, i, o, cost in self.arcs]
        return "\n".join([*lines, *(f"{s} {cost:g}" for s, cost in self.finals.items())]) + "\n"


def build_graph(lexicon: Lexicon, folder: Path) -> None:
    """Write the files of the graph into ``folder``, which must exist."""
    import kaldifst  # noqa: PLC0415 - must never share a process with vosk

    words = ["<eps>", *sorted({*lexicon, UNKNOWN}), "#0", "<s>", "</s>"]
    word_ids = {word: number for number, word in enumerate(words)}
    transducer, disambiguations = _lexicon_transducer(lexicon, word_ids)
    fst = kaldifst.compile(transducer.text(), acceptor=False)
    kaldifst.arcsort(fst, sort_type="olabel")
    kaldifst.determinize_star(fst, use_log=True)
    kaldifst.minimize_encoded(fst)
    fst = kaldifst.compile(_with_self_loops(_read(kaldifst, fst)).text(), acceptor=False)
    kaldifst.arcsort(fst, sort_type="olabel")
    renumbered = _convert_to_lookahead(fst, folder / "HCLr.fst")

    ids = {word: renumbered[old] for word, old in word_ids.items() if old in renumbered}
    ids["<eps>"] = 0
    unused = max([*ids.values(), *renumbered.values()]) + 1
    for word in words:
        if word not in ids:
            ids[word], unused = unused, unused + 1
    in_order = sorted(ids.items(), key=lambda item: item[1])
    _write(folder / "words.txt", [f"{word} {number}" for word, number in in_order])
    _write(folder / "disambig_tid.int", [str(number) for number in disambiguations])
    (folder / "phones").mkdir(exist_ok=True)
    (folder / "phones" / "word_boundary.int").write_text(topology.word_boundaries())
    _any_words(kaldifst, [ids[w] for w in (*lexicon, UNKNOWN)]).write(str(folder / "Gr.fst"))


def _lexicon_transducer(
    lexicon: Lexicon, word_ids: dict[str, int]
) -> tuple[_Transducer, list[int]]:
    """The lexicon as a loop over words, and the disambiguation symbols it uses.

    A disambiguation symbol stands where two words could not be told apart by their phones, so that
    the transducer can be determinised; Vosk removes them when it loads the model.
    """
    t = _Transducer()
    start, loop, pause, paused = (t.state() for _ in range(4))
    t.finals[loop] = 0.0

    entries = [(word, phones) for word, spoken in lexicon.items() for phones in spoken]
    uses: Counter[tuple[str, ...]] = Counter()
    times = Counter(phones for _, phones in entries)
    most = max(count if count > 1 else 0 for count in times.values())
    symbols = [topology.TRANSITION_COUNT + 1 + n for n in range(most + 3)]
    *homophones, after_pause, into_unknown, out_of_unknown = symbols

    def end_word(state: int) -> None:
        t.arcs.append((state, loop, 0, 0, _PAUSE_COST))
        t.arcs.append((state, pause, 0, 0, _PAUSE_COST))

    def phone(
        origin: int, target: int, ids: topology.PhoneTransitions, out: int = 0, cost: float = 0.0
    ) -> None:
        blank = t.state()
        t.arcs.append((origin, blank, ids.to_blank, out, cost))
        t.arcs.append((blank, target, ids.blank_leave, 0, 0.0))
        t.arcs.append((origin, target, ids.leave, out, cost))

    end_word(start)
    t.arcs.append((pause, paused, topology.SILENCE.leave, 0, 0.0))
    t.arcs.append((paused, loop, after_pause, 0, 0.0))

    for word, phones in entries:
        here = loop
        placed = zip(phones, topology.positions(len(phones)), strict=True)
        for index, key in enumerate(placed):
            there = t.state()
            phone(here, there, topology.TRANSITIONS[key], 0 if index else word_ids[word])
            here = there
        if times[phones] > 1:
            there = t.state()
            t.arcs.append((here, there, homophones[uses[phones]], 0, 0.0))
            uses[phones] += 1
            here = there
        end_word(here)

    first, inside, last, left = (t.state() for _ in range(4))
    t.arcs.append((loop, first, into_unknown, word_ids[UNKNOWN], 0.0))
    routes = {"S": (first, last), "B": (first, inside), "I": (inside, inside), "E": (inside, last)}
    for (_, position), ids in topology.TRANSITIONS.items():
        phone(*routes[position], ids, cost=UNKNOWN_PHONE_COST)
    t.arcs.append((last, left, out_of_unknown, 0, 0.0))
    end_word(left)
    return t, symbols


def _read(kaldifst: Any, fst: Any) -> _Transducer:
    t = _Transducer(states=fst.num_states, start=fst.start)
    for state in range(fst.num_states):
        for arc in kaldifst.ArcIterator(fst, state):
            t.arcs.append((state, arc.nextstate, arc.ilabel, arc.olabel, arc.weight.value))
        final = fst.final(state).value
        if math.isfinite(final):
            t.finals[state] = final
    return t


def _with_self_loops(plain: _Transducer) -> _Transducer:
    """Let every state be stayed in: the self-loop follows the transition out of it.

    A state that is entered by different transitions is split, one copy for each self-loop.
    """
    leaving: dict[int, list[_Arc]] = {}
    for arc in plain.arcs:
        leaving.setdefault(arc[0], []).append(arc)
    looped = _Transducer()
    entry = (plain.start, 0)
    copies = {entry: looped.state()}
    waiting = [entry]
    while waiting:
        state, loop = waiting.pop()
        copy = copies[state, loop]
        for _, target, transition, word, cost in leaving.get(state, []):
            key = (target, topology.SELF_LOOP.get(transition, 0))
            if key not in copies:
                copies[key] = looped.state()
                waiting.append(key)
            looped.arcs.append((copy, copies[key], transition, word, cost))
        if loop:
            looped.arcs.append((copy, copy, loop, 0, 0.0))
        if state in plain.finals:
            looped.finals[copy] = plain.finals[state]
    return looped


def _convert_to_lookahead(fst: Any, target: Path) -> dict[int, int]:
    """Write ``fst`` as a look-ahead transducer; returns each old word id with its new one."""
    with tempfile.TemporaryDirectory() as folder:
        plain, pairs = Path(folder) / "plain.fst", Path(folder) / "pairs.txt"
        fst.write(str(plain))
        subprocess.run(
            [
                "fstconvert",
                "--fst_type=olabel_lookahead",
                f"--save_relabel_opairs={pairs}",
                plain,
                target,
            ],
            env={**os.environ, "LD_PRELOAD": _LOOKAHEAD_LIBRARY},
            check=True,
        )
        numbers = [int(text) for text in pairs.read_text().split()]
    return dict(zip(numbers[::2], numbers[1::2], strict=True))


def _any_words(kaldifst: Any, word_ids: list[int]) -> Any:
    """A grammar of any words in any order, so that the folder is a model by itself."""
    t = _Transducer(
        arcs=[(0, 0, number, number, math.log(len(word_ids))) for number in word_ids],
        finals={0: 0.0},
        states=1,
    )
    fst = kaldifst.compile(t.text(), acceptor=False)
    kaldifst.arcsort(fst, sort_type="ilabel")
    return fst


def _write(path: Path, lines: list[str]) -> None:
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    graph_folder = Path(sys.argv[1]) / "graph"
    build_graph(read_lexicon(graph_folder / "lexicon.txt"), graph_folder)
