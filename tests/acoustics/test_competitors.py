"""Phrases that are easily heard instead of another."""

from __future__ import annotations

import random

import pytest

from voice.acoustics.competitors import NUMBER_WORDS, TWINS, Competitors, phone_distance, phones_of
from voice.acoustics.lexicon import read_lexicon
from voice.acoustics.shipped import MODEL_FOLDER
from voice.meaning.twins import TEN_FOR_TEEN

LEXICON = read_lexicon(MODEL_FOLDER / "graph" / "lexicon.txt")


@pytest.fixture(scope="module")
def competitors() -> Competitors:
    """Competitors among number words and a few others."""
    return Competitors.among(["pressure", "drained", "drain", "color", "colour"], LEXICON)


@pytest.mark.parametrize(
    ("a", "b", "distance"),
    [("F IH F T IY", "F IH F T IY N", 1), ("N AY N", "F AY V", 2), ("", "AO R", 2)],
)
def test_distance_counts_phones(a: str, b: str, distance: int) -> None:
    """The distance is the number of phones changed, added or left out."""
    assert phone_distance(a.split(), b.split()) == distance
    assert phone_distance(b.split(), a.split()) == distance


def test_twins_are_those_of_the_decision() -> None:
    """Training and decision agree on which teens are confused with which tens."""
    assert TWINS == TEN_FOR_TEEN


def test_a_twin_is_a_frequent_competitor(competitors: Competitors) -> None:
    """Fifty is often drawn against fifteen, the hazard that training is for."""
    rng = random.Random(1)
    drawn = [competitors.draw("pressure fifteen", rng) for _ in range(200)]
    assert drawn.count("pressure fifty") > 60


def test_a_competitor_is_another_text(competitors: Competitors) -> None:
    """No phrase is set against itself or against a homophone."""
    rng = random.Random(2)
    for text in ("pressure fifteen", "drained six", "color", *NUMBER_WORDS):
        for _ in range(50):
            rival = competitors.draw(text, rng)
            assert rival is not None
            assert rival != text
    assert "colour" not in competitors.near["color"]


def test_a_text_without_command_words_has_none(competitors: Competitors) -> None:
    """General sentences are not set against anything."""
    assert competitors.draw("the quick lamp", random.Random(3)) is None


def test_phones_of_a_strange_word_are_unknown() -> None:
    """A text with a word outside the lexicon has no phones."""
    rng = random.Random(4)
    assert phones_of("pressure", LEXICON, rng) == LEXICON["pressure"][0]
    assert phones_of("pressure xyzzyx", LEXICON, rng) is None
