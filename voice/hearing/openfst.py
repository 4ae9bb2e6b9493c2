"""Writes a grammar in the file format of OpenFst, as Vosk reads it, and finds the words in one.

The layout is that of a ``vector`` machine over ``standard`` (tropical) arcs in OpenFst 1.7 and
later, without symbol tables [OpenFst's ``fst/vector-fst.h`` and ``fst/fst.h``, from memory; the tests
compare it byte for byte with a file that OpenFst's own tools wrote]. Everything is little-endian:

====================  ==========================================================
header                magic number, machine type, arc type, version, flags,
                      properties, start state, number of states, 0
for each state        final cost (infinite: not final), number of arcs
for each arc          input label, output label, cost, target state
====================  ==========================================================

OpenFst's Python packages cannot be used instead: one that is loaded beside Vosk hangs.
"""

from __future__ import annotations

import math
import struct
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from voice.meaning.acceptor import Acceptor

_MAGIC = 2125659606
_VERSION = 2
_SYMBOLS_MAGIC = 2125658996
_HAS_INPUT_SYMBOLS, _HAS_OUTPUT_SYMBOLS = 0x1, 0x2
_EXPANDED, _MUTABLE = 0x1, 0x2
_ACCEPTOR, _INPUT_SORTED, _OUTPUT_SORTED = 0x10000, 0x10000000, 0x40000000
_PROPERTIES = _EXPANDED | _MUTABLE | _ACCEPTOR | _INPUT_SORTED | _OUTPUT_SORTED


def write_openfst(acceptor: Acceptor, word_ids: Mapping[str, int], path: Path) -> None:
    """Write ``acceptor`` to ``path``.

    ``word_ids`` are the labels of the acoustic model's words; each word of the acceptor must be
    among them.
    """
    states = [[(word_ids[a.word], a.cost, a.target) for a in arcs] for arcs in acceptor.arcs]
    parts = [
        struct.pack("<i", _MAGIC),
        _text("vector"),
        _text("standard"),
        struct.pack("<iiQqqq", _VERSION, 0, _PROPERTIES, 0, len(states), 0),
    ]
    for number, arcs in enumerate(states):
        parts.append(struct.pack("<fq", acceptor.finals.get(number, math.inf), len(arcs)))
        # the look-ahead decoder finds words by binary search
        parts += [struct.pack("<iifi", word, word, cost, to) for word, cost, to in sorted(arcs)]
    path.write_bytes(b"".join(parts))


def read_symbols(path: Path) -> dict[str, int] | None:
    """The words and labels that the machine in ``path`` holds, or ``None`` where it holds none.

    The official small models keep their words there, in a table of symbols between header and
    states [OpenFst's ``fst/fst.h`` and ``fst/symbol-table.h``, from memory; the tests read one that
    OpenFst's own tools wrote]. The machine may be of any type. Raises ``ValueError`` where the file
    is no machine of OpenFst, or is cut off.
    """
    with path.open("rb") as file:

        def take(form: str) -> tuple[int, ...]:
            raw = file.read(struct.calcsize(form))
            if len(raw) < struct.calcsize(form):
                raise ValueError("cut off")
            return struct.unpack(form, raw)

        def text() -> str:
            (length,) = take("<i")
            (raw,) = struct.unpack(f"{length}s", file.read(length))
            return str(raw, "utf-8")

        try:
            if take("<i") != (_MAGIC,):
                raise ValueError("no machine of OpenFst")
            text(), text()
            _, flags, *_ = take("<iiQqqq")
            symbols = None
            for present in (flags & _HAS_INPUT_SYMBOLS, flags & _HAS_OUTPUT_SYMBOLS):
                if present:
                    if take("<i") != (_SYMBOLS_MAGIC,):
                        raise ValueError("no table of symbols")
                    text()
                    _, count = take("<qq")
                    symbols = {text(): take("<q")[0] for _ in range(count)}
        except struct.error as error:
            raise ValueError("cut off") from error
    return symbols


def _text(text: str) -> bytes:
    return struct.pack("<i", len(text)) + text.encode("ascii")
