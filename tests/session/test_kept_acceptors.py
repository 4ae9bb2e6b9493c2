"""Acceptors that are kept from one start to the next."""

from __future__ import annotations

from typing import TYPE_CHECKING, NoReturn

import pytest

from voice.meaning.automaton import compile_acceptor
from voice.meaning.grammar import Grammar, load_grammar
from voice.meaning.listening import Listening
from voice.session import kept_acceptors
from voice.session.kept_acceptors import MOST, acceptor

if TYPE_CHECKING:
    from pathlib import Path

PHRASES = """
about = "Small."
[[phrase]]
talk = "confirm"
say = "WORD"
states = ["asleep", "confirming"]
"""


def small(folder: Path, word: str) -> Grammar:
    """A grammar of one word."""
    files = folder / word
    files.mkdir(exist_ok=True)
    (files / "small.toml").write_text(PHRASES.replace("WORD", word), "utf-8")
    return load_grammar(files)


@pytest.fixture
def grammar(tmp_path: Path) -> Grammar:
    """A small grammar."""
    return small(tmp_path, "confirm")


def never(*_: object) -> NoReturn:
    """What must not be called."""
    raise AssertionError("compiled")


def test_it_is_compiled_once(
    grammar: Grammar, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A second start reads what the first one compiled, in all states that are alike."""
    first = acceptor(grammar, Listening.CONFIRMING, tmp_path)
    assert first == grammar.acceptor(Listening.CONFIRMING)
    monkeypatch.setattr(kept_acceptors, "compiled_apart", never)
    assert acceptor(grammar, Listening.CONFIRMING, tmp_path) == first
    assert acceptor(grammar, Listening.ASLEEP, tmp_path) == first
    with pytest.raises(AssertionError):
        acceptor(grammar, Listening.LISTENING, tmp_path)


def test_another_grammar_or_other_code_has_its_own(
    grammar: Grammar, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was compiled from other phrases, or by another version, is never used."""
    acceptor(grammar, Listening.ASLEEP, tmp_path)
    other = small(tmp_path, "affirm")
    assert acceptor(other, Listening.ASLEEP, tmp_path).words() == {"affirm"}
    monkeypatch.setattr(kept_acceptors, "_code", lambda: "newer")
    acceptor(grammar, Listening.ASLEEP, tmp_path)
    assert len(list(tmp_path.glob("*.json"))) == 3


@pytest.mark.parametrize("damage", [b"", b"rubbish", b"0\n{}"])
def test_damage_is_found_and_compiled_anew(grammar: Grammar, tmp_path: Path, damage: bytes) -> None:
    """A file that is not as it was written is not believed."""
    whole = acceptor(grammar, Listening.ASLEEP, tmp_path)
    (file,) = tmp_path.glob("*.json")
    good = file.read_bytes()
    file.write_bytes(damage)
    assert acceptor(grammar, Listening.ASLEEP, tmp_path) == whole
    assert file.read_bytes() == good
    file.write_bytes(good.replace(b"confirm", b"confuse"))
    assert acceptor(grammar, Listening.ASLEEP, tmp_path) == whole


def test_a_folder_that_cannot_be_written_does_no_harm(grammar: Grammar, tmp_path: Path) -> None:
    """Without a place to keep it, it is compiled."""
    (tmp_path / "file").write_text("in the way")
    found = acceptor(grammar, Listening.ASLEEP, tmp_path / "file" / "cache")
    assert found.words() == {"confirm"}


def test_the_oldest_go(tmp_path: Path) -> None:
    """Only the last few are kept, and no unfinished file is left behind."""
    for n in range(MOST + 3):
        acceptor(small(tmp_path, chr(ord("a") + n)), Listening.ASLEEP, tmp_path / "kept")
    files = list((tmp_path / "kept").iterdir())
    assert len(files) == MOST
    assert {file.suffix for file in files} == {".json"}


def test_the_shipped_grammar_comes_back_as_it_was(tmp_path: Path) -> None:
    """The whole grammar is the same when it is read again."""
    grammar = load_grammar()
    first = acceptor(grammar, Listening.CHOOSING, tmp_path)
    assert acceptor(grammar, Listening.CHOOSING, tmp_path) == first
    assert first == compile_acceptor(grammar._trees[Listening.CHOOSING])


def test_it_lies_under_home_where_that_is_set(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """LEGBOOK_HOME moves it together with the rest."""
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    assert kept_acceptors.cache_folder() == tmp_path / "cache" / "acceptors"
    monkeypatch.delenv("LEGBOOK_HOME")
    assert kept_acceptors.cache_folder().parts[-2:] == ("legbook", "acceptors")
