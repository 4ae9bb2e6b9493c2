"""The look-ahead transducer of a model (``graph/HCLr.fst``), read, added to and written.

It is a ``const`` machine of OpenFst, without symbols, and behind it, for every state, which output
labels can be met from there without another one in between: the recogniser looks ahead by that. The
labels of a state are ranges of numbers, end excluded. Everything is little-endian.

Source of the layout: OpenFst's ``fst/const-fst.h``, ``fst/add-on.h``, ``fst/label-reachable.h`` and
``fst/interval-set.h`` (from memory; the tests read the shipped model's file and write it again, byte
for byte).
"""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING

from voice.entries.errors import LegbookError

if TYPE_CHECKING:
    from pathlib import Path

_MAGIC, _ADDON_MAGIC = 2125659606, 446681434
_OUTER, _INNER, _ARCS = "olabel_lookahead", "const", "standard"
_I_DETERMINISTIC, _NOT_I_DETERMINISTIC = 1 << 18, 1 << 19
_OUTPUT_ONLY = (True, False, True)
"""There is an add-on; none for the input labels, one for the output labels."""


class LookaheadError(LegbookError):
    """The file is no look-ahead transducer as the shipped model has one."""


@dataclass(frozen=True, slots=True)
class Arc:
    """One step: a transition id and the word that it puts out (0: none)."""

    transition: int
    word: int
    cost: float
    target: int


@dataclass(slots=True)
class State:
    """One state; ``final`` is the cost of ending there, infinite where one may not."""

    final: float
    arcs: list[Arc]
    words_ahead: list[tuple[int, int]]
    """Ranges of the words that can be met next, end excluded."""


@dataclass(slots=True)
class Lookahead:
    """The whole transducer; state ``start`` is where every utterance begins."""

    start: int
    states: list[State]
    end_label: int
    """The label that stands for an end in ``words_ahead``."""
    properties: int
    deterministic: bool = True
    """Whether no two arcs of a state have the same transition."""


def read_lookahead(path: Path) -> Lookahead:
    """Read the transducer in ``path``; raises ``LookaheadError`` where it is something else."""
    try:
        return _read(path.read_bytes())
    except (struct.error, ValueError) as error:
        raise LookaheadError(
            f"{path} is no look-ahead transducer that words can be added to ({error}). "
            "Words can be taught to the shipped model only."
        ) from error


def _read(raw: bytes) -> Lookahead:
    at = 0

    def take(form: str) -> tuple[int, ...]:
        nonlocal at
        found = struct.unpack_from(f"<{form}", raw, at)
        at += struct.calcsize(f"<{form}")
        return found

    def expect(form: str, wanted: tuple[object, ...], what: str) -> None:
        if take(form) != wanted:
            raise ValueError(f"another {what}")

    def header(kind: str) -> tuple[int, ...]:
        expect("i", (_MAGIC,), "magic number")
        for text in (kind, _ARCS):
            expect(f"i{len(text)}s", (len(text), text.encode()), "type")
        _, flags, *rest = take("iiQqqq")
        if flags:
            raise ValueError("it brings symbols or is aligned")
        return tuple(rest)

    header(_OUTER)
    expect("i", (_ADDON_MAGIC,), "add-on")
    properties, start, state_count, arc_count = header(_INNER)
    rows = [take("fIIII") for _ in range(state_count)]
    arcs = [Arc(i, o, cost, to) for i, o, cost, to in (take("iifi") for _ in range(arc_count))]
    expect("???", _OUTPUT_ONLY, "add-on")
    expect("??", (False, False), "form of look-ahead")
    end_label, sets = take("iq")
    if sets != state_count:
        raise ValueError("look-ahead for other states")
    states = []
    for final, first, count, *_ in rows:
        (ranges,) = take("q")
        ahead = [(begin, end) for begin, end in (take("ii") for _ in range(ranges))]
        take("i")
        states.append(State(final, arcs[first : first + count], ahead))
    if at != len(raw):
        raise ValueError("something follows its end")
    return Lookahead(start, states, end_label, properties)


def write_lookahead(fst: Lookahead, path: Path) -> None:
    """Write the transducer to ``path``, each state's arcs in the order of their words."""
    properties = fst.properties
    if not fst.deterministic:
        properties = properties & ~_I_DETERMINISTIC | _NOT_I_DETERMINISTIC
    arc_count = sum(len(state.arcs) for state in fst.states)
    parts = [
        *_header(_OUTER, 1, properties, -1, 0, 0),
        struct.pack("<i", _ADDON_MAGIC),
        *_header(_INNER, 2, properties, fst.start, len(fst.states), arc_count),
    ]
    first = 0
    for state in fst.states:
        silent = sum(arc.transition == 0 for arc in state.arcs)
        wordless = sum(arc.word == 0 for arc in state.arcs)
        row = (state.final, first, len(state.arcs), silent, wordless)
        parts.append(struct.pack("<fIIII", *row))
        first += len(state.arcs)
    for state in fst.states:
        parts += [
            struct.pack("<iifi", arc.transition, arc.word, arc.cost, arc.target)
            for arc in sorted(state.arcs, key=lambda arc: arc.word)
        ]
    parts.append(
        struct.pack("<?????iq", *_OUTPUT_ONLY, False, False, fst.end_label, len(fst.states))
    )
    for state in fst.states:
        parts.append(struct.pack("<q", len(state.words_ahead)))
        parts += [struct.pack("<ii", *span) for span in state.words_ahead]
        parts.append(struct.pack("<i", sum(end - begin for begin, end in state.words_ahead)))
    path.write_bytes(b"".join(parts))


def _header(kind: str, version: int, *numbers: int) -> list[bytes]:
    """``numbers``: properties, start, how many states, how many arcs."""
    names = [struct.pack("<i", len(name)) + name.encode() for name in (kind, _ARCS)]
    return [struct.pack("<i", _MAGIC), *names, struct.pack("<iiQqqq", version, 0, *numbers)]


def is_end(state: State) -> bool:
    """Whether a word may end there, and so the next one begin."""
    return math.isfinite(state.final)
