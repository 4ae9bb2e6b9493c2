"""A first guess at how a new word is spoken."""

from __future__ import annotations

import random

import pytest
from rapidfuzz.distance import Levenshtein

from voice.acoustics import lexicon
from voice.acoustics.proposal import ProposalError, phones_of_ipa, propose
from voice.acoustics.shipped import MODEL_FOLDER


@pytest.mark.parametrize(
    ("ipa", "phones"),
    [
        ("dʒˈɔɪ", "JH OY"),
        ("tʃˈɜːtʃ", "CH ER CH"),
        ("ðˈɪs", "DH IH S"),
        ("bjʊɹɹˈɛt", "B Y UH R EH T"),
        ("kə_ˈæ", "K AH AE"),
    ],
)
def test_symbols_become_phones(ipa: str, phones: str) -> None:
    """A word in the phonetic alphabet is written in the lexicon's phones, without stress."""
    assert " ".join(phones_of_ipa(ipa)) == phones


def test_both_accents_are_given_where_they_differ() -> None:
    """The American way stands first, the British behind it."""
    assert [" ".join(way) for way in propose("nicardipine")] == [
        "N IH K AA R D IH P AY N",
        "N IH K AA D IH P AY N",
    ]
    assert len(propose("joy")) == 1


def test_guesses_are_near_the_dictionary() -> None:
    """On words that the CMU Pronouncing Dictionary has, hardly one phone in twelve differs."""
    known = lexicon.read_lexicon(MODEL_FOLDER / "graph" / "lexicon.txt")
    plain = [word for word in known if word.isalpha() and len(word) > 2]
    wrong = length = 0
    for word in random.Random(1).sample(plain, 60):
        guess = propose(word)[0]
        wrong += min(Levenshtein.distance(guess, way) for way in known[word])
        length += len(guess)
    assert wrong / length < 1 / 12


@pytest.mark.parametrize("word", ["", "two words", "Capital", "6mg"])
def test_what_is_no_word_is_refused(word: str) -> None:
    """Only one word in small letters is guessed at; the sentence says so."""
    with pytest.raises(ProposalError, match="one word"):
        propose(word)


def test_an_unknown_symbol_is_told() -> None:
    """A sound that English lacks is not dropped in silence."""
    with pytest.raises(ProposalError, match="stands for no phone"):
        phones_of_ipa("ǃa")


def test_without_espeak_the_package_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where espeak-ng is missing, the sentence says what to install."""
    monkeypatch.setenv("PATH", "/nowhere")
    with pytest.raises(ProposalError, match="espeak-ng"):
        propose("drain")
