"""Acceptors that are compiled in a process of their own."""

from __future__ import annotations

import io
import pickle
import subprocess
import sys
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, NoReturn

import pytest

from voice.meaning import compiling
from voice.meaning.acceptor_bytes import from_bytes
from voice.meaning.automaton import compile_acceptor
from voice.meaning.expression import Marked, Row, Slot, Word
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening

if TYPE_CHECKING:
    from collections.abc import Sequence


NUMBERS = {("number", *str(n)): n for n in range(compiling.FEW_FORMS + 1)}
MANY = Row((Word("pressure"), Marked(Slot("value", NUMBERS), "pressure", cost=1.5)))
"""More than is compiled here."""


def never(*_: object, **__: object) -> NoReturn:
    """What must not be called."""
    raise AssertionError


def test_another_process_compiles_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """What comes back from the child is what would have been made here, and it is not made here."""
    expected = compile_acceptor(MANY)
    monkeypatch.setattr(compiling, "compile_acceptor", never)
    assert compiling.compiled_apart(MANY) == expected


def test_few_phrases_are_compiled_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """No process is started for what is made sooner than it starts."""
    monkeypatch.setattr(subprocess, "run", never)
    choosing = load_grammar().expression(Listening.CHOOSING)
    assert compiling.compiled_apart(choosing) == compile_acceptor(choosing)


@pytest.mark.parametrize(
    "command",
    [
        ("/nowhere/at/all",),
        (sys.executable, "-c", "raise SystemExit(1)"),
        (sys.executable, "-c", "print('rubbish')"),
        (sys.executable, "-c", "import time; time.sleep(60)"),
    ],
    ids=["no such program", "fails", "rubbish", "hangs"],
)
def test_without_another_process_it_is_compiled_here(
    command: Sequence[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A child that cannot start, fails, or gives nothing of use does no harm."""
    monkeypatch.setattr(compiling, "COMMAND", command)
    monkeypatch.setattr(compiling, "LONGEST_S", 1.0)
    assert compiling.compiled_apart(MANY) == compile_acceptor(MANY)


def test_the_child_reads_an_expression_and_writes_its_acceptor(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """From standard input to standard output."""
    streams: Any = SimpleNamespace(buffer=io.BytesIO(pickle.dumps(MANY)))
    told: Any = SimpleNamespace(buffer=io.BytesIO())
    monkeypatch.setattr(sys, "stdin", streams)
    monkeypatch.setattr(sys, "stdout", told)
    compiling.main()
    assert from_bytes(told.buffer.getvalue()) == compile_acceptor(MANY)
