"""Wordings with their values left open, and which of them sound alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from voice.acoustics.lexicon_file import read_lexicon
from voice.acoustics.shipped import MODEL_FOLDER
from voice.meaning.grammar import load_grammar
from voice.training.phrases.frames import Sounds, frames, spoken

if TYPE_CHECKING:
    from pathlib import Path

    from voice.meaning.grammar import Grammar

LEXICON = read_lexicon(MODEL_FOLDER / "graph" / "lexicon.txt")
FILE = """
about = "A trial."
[[phrase]]
entry = "pressure"
say = "pressure [is] <value>"
slots.value = { min = 0, max = 99 }
default.unit = "pressure_unit"
[[phrase]]
entry = "pupils"
say = "pupils <reaction>"
slots.reaction = { brisk = "brisk | quick", sluggish = "sluggish" }
[[phrase]]
entry = "drain_opened"
say = "pressure on"
"""


@pytest.fixture
def grammar(tmp_path: Path) -> Grammar:
    """Three phrases."""
    (tmp_path / "trial.toml").write_text(FILE)
    return load_grammar(tmp_path)


def test_values_are_left_open_where_they_are_many(grammar: Grammar) -> None:
    """A slot of many values stands open in a frame; one of few is said in words."""
    texts = {frame.text for phrase in grammar.phrases for frame in frames(phrase)}
    assert texts == {
        "pressure <value>",
        "pressure is <value>",
        "pupils brisk",
        "pupils quick",
        "pupils sluggish",
        "pressure on",
    }


def test_wordings_of_one_meaning_are_no_rivals(grammar: Grammar) -> None:
    """Frames mean the same where kind and told values are the same, whatever the words."""
    _, pupils, _ = grammar.phrases
    brisk, quick, sluggish = frames(pupils)
    assert brisk.meaning == quick.meaning != sluggish.meaning


def test_nearest_means_something_else(grammar: Grammar) -> None:
    """Of what sounds most like a frame only that is told which means something else."""
    every = [frame for phrase in grammar.phrases for frame in frames(phrase)]
    (near,) = Sounds(every, LEXICON).nearest([every[-1]], most=9.0, each=1)
    assert (near.one.text, near.other.text) == ("pressure on", "pressure <value>")


def test_words_that_nobody_knows_sound_like_nothing() -> None:
    """A word without a pronunciation stands as sounds of its own."""
    assert spoken(["xyzzy"], LEXICON) == (("?x", "?y", "?z", "?z", "?y"),)


def test_no_more_wordings_than_asked_for(grammar: Grammar) -> None:
    """The number of frames is bounded, however many a phrase has."""
    assert len(frames(grammar.phrases[0], most=1)) == 1
