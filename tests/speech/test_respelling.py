"""Words that espeak-ng would speak badly."""

from __future__ import annotations

import subprocess

import pytest

from voice.acoustics.lexicon_file import read_lexicon
from voice.acoustics.proposal import phones_of_ipa
from voice.acoustics.shipped import MODEL_FOLDER
from voice.speech.espeak import RESPELLINGS, VOICE, EspeakNg
from voice.training.phrases.phone_distance import distance

LEXICON = read_lexicon(MODEL_FOLDER / "graph" / "lexicon.txt")


def phones(text: str) -> tuple[str, ...]:
    """What espeak-ng makes of a word."""
    command = ["espeak-ng", "-q", "--ipa", "-v", VOICE, text]
    spoken = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    return phones_of_ipa(spoken)


def off(word: str, text: str) -> float:
    """How far ``text`` is spoken from how ``word`` is said."""
    return min(distance(phones(text), said) for said in LEXICON[word])


@pytest.mark.parametrize("word", RESPELLINGS)
def test_a_respelling_is_nearer_to_how_the_word_is_said(word: str) -> None:
    """In its respelling a word is spoken nearer to the lexicon than by its letters."""
    assert off(word, f"[[{RESPELLINGS[word]}]]") < off(word, word)


def test_only_whole_words_are_respelled() -> None:
    """A respelled word is spoken within a sentence, and shortens nothing around it."""
    voice = EspeakNg()
    alone, inside = (voice.speak(text).duration_s for text in ("propofol", "propofol, five zero"))
    assert 0.4 < alone < inside - 0.5
