"""The grammar's file against OpenFst's own."""

from __future__ import annotations

import math
import struct
from pathlib import Path

import pytest

from tests.hearing.conftest import acceptor_of
from voice.hearing.openfst import read_symbols, write_openfst
from voice.meaning.acceptor import Acceptor, Arc

# grammar.fst was made from grammar.txt by OpenFst 1.7.9's own tools:
#   fstcompile grammar.txt | fstarcsort --sort_type=ilabel > grammar.fst
BY_OPENFST = Path(__file__).parent / "openfst" / "grammar.fst"
# with_words.fst holds the words of words.txt, put into it by the same tools:
#   fstcompile --isymbols=words.txt --keep_isymbols --osymbols=words.txt --keep_osymbols
WITH_WORDS = BY_OPENFST.with_name("with_words.fst")
SAME = Acceptor(
    arcs=((Arc("b", 1, 0.5), Arc("c", 2)), (Arc("d", 3),), (Arc("d", 3, 1.25),), ()),
    finals={3: 0.75},
)
WORD_IDS = {"b": 5, "c": 3, "d": 9}
PROPERTIES = slice(34, 42)


def test_the_file_is_the_one_that_openfst_writes(tmp_path: Path) -> None:
    """Byte for byte, but for properties that OpenFst reckons out beyond those we state."""
    file = tmp_path / "Gr.fst"
    write_openfst(SAME, WORD_IDS, file)
    ours, theirs = bytearray(file.read_bytes()), bytearray(BY_OPENFST.read_bytes())
    (stated,) = struct.unpack("<Q", ours[PROPERTIES])
    (reckoned,) = struct.unpack("<Q", theirs[PROPERTIES])
    assert stated & ~reckoned == 0
    ours[PROPERTIES] = theirs[PROPERTIES] = b""
    assert ours == theirs


def test_the_words_within_a_machine_are_those_that_openfst_put_there() -> None:
    """Each word and its label is read, and a machine without words says so."""
    listed = (line.split() for line in WITH_WORDS.with_name("words.txt").read_text().splitlines())
    assert read_symbols(WITH_WORDS) == {word: int(label) for word, label in listed}
    assert read_symbols(BY_OPENFST) is None


@pytest.mark.parametrize("length", [0, 3, 12, 60, 100])
def test_words_are_not_read_from_half_a_machine(tmp_path: Path, length: int) -> None:
    """A file that is cut off within its head or its words raises ValueError."""
    (tmp_path / "cut.fst").write_bytes(WITH_WORDS.read_bytes()[:length])
    with pytest.raises(ValueError, match="cut off"):
        read_symbols(tmp_path / "cut.fst")


def test_each_phrase_can_be_read_back_from_the_file(tmp_path: Path) -> None:
    """The paths of the file are the phrases, and no other."""
    phrases = {"pressure nine", "pressure ninety", "pressure", "confirm"}
    acceptor = acceptor_of(*phrases)
    word_ids = {word: n for n, word in enumerate(sorted(acceptor.words()), start=1)}
    file = tmp_path / "Gr.fst"
    write_openfst(acceptor, word_ids, file)
    words = {label: word for word, label in word_ids.items()}
    paths = {" ".join(words[label] for label in path): cost for path, cost in _paths(file)}
    assert paths == dict.fromkeys(phrases, 0.0)


def test_the_arcs_of_a_state_are_sorted_by_label(tmp_path: Path) -> None:
    """Labels rise within a state even where the words' order is another."""
    file = tmp_path / "Gr.fst"
    write_openfst(acceptor_of("a", "b", "c"), {"a": 9, "b": 2, "c": 5}, file)
    first = _states(file)[0][1]
    assert [label for label, _, _ in first] == [2, 5, 9]


def _states(file: Path) -> list[tuple[float, list[tuple[int, float, int]]]]:
    data, at = file.read_bytes(), 0

    def take(form: str) -> tuple[int, ...]:
        nonlocal at
        found = struct.unpack_from(form, data, at)
        at += struct.calcsize(form)
        return found

    take("<i")
    for _ in range(2):
        (length,) = take("<i")
        at += length
    *_, count, _arcs = take("<iiQqqq")
    states = []
    for _ in range(count):
        final, arcs = take("<fq")
        states.append((float(final), [(a, float(c), t) for a, _, c, t in
                                      (take("<iifi") for _ in range(arcs))]))  # fmt: skip
    assert at == len(data)
    return states


def _paths(file: Path) -> list[tuple[tuple[int, ...], float]]:
    states = _states(file)
    found: list[tuple[tuple[int, ...], float]] = []

    def walk(state: int, path: tuple[int, ...], cost: float) -> None:
        final, arcs = states[state]
        if not math.isinf(final):
            found.append((path, cost + final))
        for label, arc_cost, target in arcs:
            walk(target, (*path, label), cost + arc_cost)

    walk(0, (), 0.0)
    return found
