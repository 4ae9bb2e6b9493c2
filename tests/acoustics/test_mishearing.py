"""What the grammar makes of the speech that is trained on."""

from __future__ import annotations

import json
import random
from dataclasses import asdict
from pathlib import Path

import numpy as np
import pytest
import soundfile

from voice.acoustics import mishearing, taken_for
from voice.acoustics.blend_texts import piece
from voice.acoustics.corpus import SAMPLE_RATE, Utterance
from voice.acoustics.shipped import MODEL_FOLDER
from voice.acoustics.taken_for import Misheard
from voice.meaning.automaton import compile_acceptor
from voice.meaning.expression import Either, Row, Word

FOURTEEN = Path(__file__).parent / "pressure_fourteen.flac"


def utterance(text: str, name: str, samples: int = SAMPLE_RATE) -> Utterance:
    """Something said, at the beginning of the corpus."""
    return Utterance(0, samples, text, "somebody", name, held_out=False)


@pytest.mark.parametrize(
    ("text", "name", "talk"),
    [
        ("hey you over there", "human-wakeword", True),
        ("", "synthetic-foreign", True),
        ("no", "human-wuw2", False),  # happens to be a word of the talk
        ("pressure fourteen", "synthetic-talk", False),  # happens to be an entry
        ("pressure fourteen", "synthetic-blends", False),
        ("fourteen", "synthetic-packages", False),
    ],
)
def test_what_is_talk(text: str, name: str, talk: bool) -> None:
    """Talk is what is of a set of talk and no legal phrase."""
    assert mishearing.is_talk(utterance(text, name)) is talk


def test_pieces_lie_within_their_utterance() -> None:
    """Every piece cut out of talk begins and ends in it, and a short utterance gives none."""
    long = utterance("a long story", "human-librispeech", 12 * SAMPLE_RATE)
    cut = [one for seed in range(50) for one in mishearing.pieces(long, random.Random(seed))]
    assert len(cut) == 50 * 4
    assert all(first >= 0 and first + samples <= long.samples for first, samples in cut)
    assert not list(mishearing.pieces(utterance("hey", "human-wuw2"), random.Random(1)))


def test_what_is_heard_in_a_phrase(monkeypatch: pytest.MonkeyPatch) -> None:
    """A phrase is listed with what it was taken for, likeliest first; its own words are first here."""
    phrases = ("pressure fourteen", "pressure forty", "chamber open")
    grammar = Either(tuple(Row(tuple(map(Word, text.split()))) for text in phrases))
    monkeypatch.setattr(mishearing, "_ACCEPTORS", [compile_acceptor(grammar)])
    monkeypatch.setattr(mishearing, "_NOISY_SHARE", 0.0)
    sound, _ = soundfile.read(FOURTEEN, dtype="int16")
    said = utterance("pressure fourteen", "synthetic-blends", len(sound))
    quiet = np.zeros(20 * SAMPLE_RATE, np.float32)
    (found,) = mishearing.hear([MODEL_FOLDER], quiet, (said, np.asarray(sound)))
    assert (found.start, found.samples, found.talk) == (0, len(sound), False)
    assert found.phrases[0] == "pressure fourteen"
    assert "[unk]" not in found.phrases


def test_the_file_gives_back_what_was_written(tmp_path: Path) -> None:
    """A line of the file is a sound and its phrases, in their order."""
    there = Misheard(320, 16000, "", talk=True, phrases=("map two", "no"))
    (tmp_path / "misheard.jsonl").write_text(json.dumps(asdict(there)) + "\n", "utf-8")
    assert taken_for.read(tmp_path / "misheard.jsonl") == [there]


def test_a_piece_of_a_sentence_is_words_in_a_row() -> None:
    """What is spoken as talk is a part of a sentence that was written, never words of two places."""
    sentence = "the quick brown fox jumps over the lazy dog again and again"
    for seed in range(60):
        assert f" {piece(sentence, random.Random(seed))} " in f" {sentence} "
