"""The sound that the bench plays: phrases, other speech, helicopters."""

from __future__ import annotations

import json
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import soundfile

from voice.capture.recordings import read_recording
from voice.entries.heard import SAMPLE_RATE
from voice.entries.leg import LegSettings
from voice.entries.said import Command
from voice.meaning.listening import Listening

if TYPE_CHECKING:
    import random
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from voice.meaning.grammar import Grammar

AROUND_S = 1.0
"""Helicopter alone before and after each phrase."""
FADE_S = 0.4
VOICES = {
    "espeak-ng en-us": ["espeak-ng", "-v", "en-us", "-w"],
    "espeak-ng en-gb": ["espeak-ng", "-v", "en-gb", "-w"],
    "flite slt": ["flite", "-voice", "slt", "-o"],
    "flite rms": ["flite", "-voice", "rms", "-o"],
    "flite awb": ["flite", "-voice", "awb", "-o"],
}
"""Synthesisers with their options, ending in the one that names the file to write."""


@dataclass(frozen=True)
class Utterance:
    """Something said, without noise."""

    text: str
    voice: str
    samples: NDArray[np.int16]


def read_speech(folder: Path, names: tuple[str, ...]) -> Iterator[tuple[dict[str, str], Utterance]]:
    """The utterances of the lists ``names`` in ``folder``, each with its line of the list."""
    for name in names:
        for line in (folder / f"{name}.jsonl").read_text("utf-8").splitlines():
            item = json.loads(line)
            samples, rate = soundfile.read(
                folder / item["file"], dtype="int16", start=item["start"], frames=item["samples"]
            )
            assert rate == SAMPLE_RATE
            yield item, Utterance(item["text"], item["voice"], samples)


def phrases_of_lists(folder: Path, grammar: Grammar) -> list[Utterance]:
    """What the development voices say that is a phrase of the grammar."""
    return [
        utterance
        for _, utterance in read_speech(folder, ("dev",))
        if grammar.parse(utterance.text, LegSettings(), Listening.CONFIRMING)
    ]


def words_of_talk(grammar: Grammar) -> list[Utterance]:
    """Every example of a word to the program, spoken here by each synthesiser."""
    texts = [
        example.text
        for example in grammar.examples
        if any(
            isinstance(meaning, Command)
            for meaning in grammar.parse(example.text, LegSettings(), Listening.CONFIRMING)
        )
    ]
    return [
        Utterance(text, voice, speak(text, command))
        for text in dict.fromkeys(texts)
        for voice, command in VOICES.items()
    ]


def phrases_drawn(grammar: Grammar, rng: random.Random, count: int) -> list[Utterance]:
    """Phrases drawn from the grammar at random, spoken here by synthesisers in turn."""
    voices = list(VOICES)
    drawn = []
    for number in range(count):
        text, _ = grammar.sample(rng, Listening.CONFIRMING)
        voice = voices[number % len(voices)]
        drawn.append(Utterance(text, voice, speak(text, VOICES[voice])))
    return drawn


def speak(text: str, command: list[str]) -> NDArray[np.int16]:
    """``text`` from a synthesiser."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "said.wav"
        said = ["-t", text] if command[0] == "flite" else [text]
        subprocess.run([*command, str(file), *said], check=True, capture_output=True)
        return np.concatenate(list(read_recording(file)))


def other_speech(folder: Path, grammar: Grammar) -> list[Utterance]:
    """Sentences of people that are no phrase of the grammar."""
    return [
        utterance
        for item, utterance in read_speech(folder, ("human", "wuw"))
        if item["set"] in {"human-librispeech_demo", "human-wuw2", "human-librispeech_237"}
        and len(utterance.text.split()) >= 3
        and not grammar.parse(utterance.text, LegSettings())
    ]


def read_noise(folder: Path, pattern: str) -> NDArray[np.float64]:
    """The recordings of ``folder`` that match ``pattern``, one after the other."""
    files = sorted(folder.glob(pattern))
    return np.concatenate([block for f in files for block in read_recording(f)]).astype(np.float64)


def in_noise(
    speech: NDArray[np.int16], noise: NDArray[np.float64], snr_db: float | None, start: int
) -> NDArray[np.int16]:
    """``speech`` with ``AROUND_S`` on either side, in noise taken from sample ``start`` on.

    ``snr_db`` is the ratio of mean powers; speech counts where it is within 30 dB of its loudest
    20 ms. ``None`` is no noise. The noise swells, since its sudden start would pass for speech.
    """
    pad = np.zeros(round(AROUND_S * SAMPLE_RATE))
    mixed = np.concatenate((pad, speech.astype(np.float64), pad))
    if snr_db is not None:
        stretch = np.take(noise, np.arange(start, start + len(mixed)), mode="wrap")
        wanted = _active_power(mixed) / 10 ** (snr_db / 10)
        swell = np.minimum(1.0, np.arange(len(mixed)) / (FADE_S * SAMPLE_RATE))
        mixed = mixed + stretch * swell * np.sqrt(wanted / np.mean(stretch**2))
    return np.clip(np.rint(mixed), -32768, 32767).astype(np.int16)


def _active_power(sound: NDArray[np.float64]) -> float:
    frames = sound[: len(sound) // 320 * 320].reshape(-1, 320)
    powers = np.mean(frames**2, axis=1)
    return float(np.mean(powers[powers > powers.max() / 1000]))
