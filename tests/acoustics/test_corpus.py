"""Which speech is kept out of training, and how recordings are cut."""

from __future__ import annotations

import itertools
import json
import random
from typing import TYPE_CHECKING

import numpy as np
import pytest
import soundfile

from voice.acoustics import corpus

if TYPE_CHECKING:
    from pathlib import Path


def row(voice: str, name: str, licence: str = "CC-BY-4.0") -> dict[str, str]:
    """The part of a line that decides whether it is held out."""
    return {"voice": voice, "set": name, "licence": licence}


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        (row("flite_rms", "synthetic-packages"), True),
        (row("flite_slt", "synthetic-packages"), False),
        (row("flite_slt", "synthetic-dev"), True),
        (row("kok_bm_lewis", "synthetic-neural"), True),
        (row("kok_blend", "synthetic-blends"), False),
        (row("kok_blend", "development-twins"), True),
        (row("piper_joe", "test-twins"), True),
        (row("strange_alpha_gb", "strange-phrases"), True),
        (row("unknown", "human-wakeword", "public domain (author waiver)"), True),
        (row("unknown", "human-wakeword", "Apache-2.0"), False),
    ],
)
def test_what_is_held_out(given: dict[str, str], expected: bool) -> None:
    """Test voices, development sets and one wake-word collection are in no training."""
    assert corpus.held_out(given) is expected


def test_a_person_is_held_out_in_every_set() -> None:
    """A speaker of Speech Commands is held out in all of its versions or in none."""
    for number in range(60):
        versions = {
            corpus.held_out(row(f"speech_commands_{version}_sc_{number:08x}", f"human-{version}"))
            for version in ("speech_commands_v001_words", "speech_commands_test_v002")
        }
        assert len(versions) == 1


def test_about_one_person_in_eight_is_held_out() -> None:
    """The hash keeps out neither nobody nor everybody."""
    held = sum(
        corpus.held_out(row(f"x_sc_{number:08x}", "human-speech_commands_v001_words"))
        for number in range(800)
    )
    assert 60 < held < 140


def test_quiet_ends_are_trimmed() -> None:
    """The quiet before and after a word goes, but for a margin of 50 ms."""
    sound = np.zeros(16_000, np.int16)
    sound[6000:9000] = 8000
    assert abs(len(corpus.trimmed(sound)) - (3000 + 2 * 800)) < 100


def test_silence_is_left_as_it_is() -> None:
    """A recording without any sound is not cut to nothing."""
    assert len(corpus.trimmed(np.zeros(500, np.int16))) == 500


def test_words_of_one_person_are_joined(tmp_path: Path) -> None:
    """A spliced phrase holds the words of one person, in the order of its text."""
    levels = {"one": 1000, "two": 2000, "three": 3000}
    lines = []
    for word, level in levels.items():
        sound = np.full(4000, level, np.int16)
        soundfile.write(tmp_path / f"{word}.wav", sound, 16_000)
        said = {"file": f"{word}.wav", "start": 0, "samples": 4000, "text": word}
        lines.append(json.dumps(said | row("fsdd_somebody", "human-fsdd")))
    (tmp_path / "digits.jsonl").write_text("\n".join(lines), encoding="utf-8")
    speech = corpus.spliced(corpus.Corpus.read([tmp_path]), 5, random.Random(1))
    joined = [u for u in speech.utterances if u.set == "human-spliced"]
    assert len(joined) == 5
    for u in joined:
        heard = [int(v) for v in speech.sound_of(u) if v]
        order = [heard[0], *(b for a, b in itertools.pairwise(heard) if a != b)]
        texts = [levels[word] for word in u.text.split()]
        distinct = [texts[0], *(b for a, b in itertools.pairwise(texts) if a != b)]
        assert order == distinct
