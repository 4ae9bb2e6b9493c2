"""What the grammar makes of the speech that is trained on: the phrases that are taken for it.

    python -m voice.acoustics.mishearing MODEL_FOLDER... --speech FOLDER... --noise FOLDER --out misheard.jsonl

hears each utterance as on a leg, with the strict grammar, every other one in noise, and writes a line
for each sound: where it lies, whether it is talk (no phrase of the grammar), and the phrases that were
likeliest for it. `voice.acoustics.training` takes them as competitors. Of people's talk, pieces between
pauses and pieces cut at random are listed too, as sounds without a text: a piece of a sentence is what
is taken for a command most easily.
"""

from __future__ import annotations

import argparse
import json
import random
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from voice.acoustics import corpus
from voice.acoustics.corpus import SAMPLE_RATE
from voice.acoustics.sounds import level, segments, stretch
from voice.acoustics.taken_for import Misheard
from voice.entries.heard import Segment
from voice.entries.leg import LegSettings
from voice.hearing.listener import VoskListener
from voice.hearing.model import AcousticModel
from voice.meaning.decide import is_unknown
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from voice.acoustics.corpus import Utterance
    from voice.meaning.acceptor import Acceptor

TALK_SETS = (
    *("human-librispeech", "human-wuw2", "human-wakeword"),
    *("synthetic-talk", "synthetic-foreign"),
)
"""Sets of speech that no crew says to the program, unless a text of it happens to be a phrase."""
_NOISY_SHARE = 0.5
_SNR_DB = (0.0, 20.0)
_PIECE_S = (0.6, 2.5)
_PIECE_EVERY_S = 3.0
"""One piece is cut at random from each so many seconds of talk."""
_AROUND = SAMPLE_RATE // 3
_MOST_S = 16.0


def is_talk(utterance: Utterance) -> bool:
    """Whether it is no command: of a set of talk, and no legal phrase."""
    if not utterance.set.startswith(TALK_SETS):
        return False
    return not _is_phrase(utterance.text)


@cache
def _is_phrase(text: str) -> bool:
    return any(
        load_grammar().parse(text, LegSettings(), state)
        for state in (Listening.LISTENING, Listening.CONFIRMING)
    )


def pieces(utterance: Utterance, rng: random.Random) -> Iterator[tuple[int, int]]:
    """Where pieces of an utterance of talk begin, and how many samples each has."""
    for _ in range(int(utterance.samples / SAMPLE_RATE / _PIECE_EVERY_S)):
        samples = int(rng.uniform(*_PIECE_S) * SAMPLE_RATE)
        yield utterance.start + rng.randrange(utterance.samples - samples), samples


# --- hearing -----------------------------------------------------------------------------------

_ACCEPTORS: list[Acceptor] = []
"""The grammar of a leg; child processes inherit it."""


@cache
def _listener(model: Path) -> VoskListener:
    return VoskListener(AcousticModel.open(model), _ACCEPTORS[0])


def _found_in(sound: NDArray[np.int16]) -> list[tuple[int, int]]:
    """Where the detector finds speech in a sound: first sample and number of samples."""
    around = np.zeros(SAMPLE_RATE, np.int16)
    cut = []
    for segment in segments(np.concatenate([around, sound, around])):
        first = max(0, int(segment.start_s * SAMPLE_RATE) - len(around))
        last = min(len(sound), int(segment.speech_end_s * SAMPLE_RATE) - len(around))
        if last > first:
            cut.append((first, last - first))
    return cut


def _phrases(models: Sequence[Path], sound: NDArray[np.int16]) -> tuple[str, ...]:
    heard: dict[str, None] = {}
    silence = np.zeros(_AROUND, np.int16)
    whole = np.concatenate([silence, sound, silence])
    end_s = (_AROUND + len(sound)) / SAMPLE_RATE
    for model in models:
        hearing = _listener(model).hear(Segment(0.0, whole, speech_end_s=end_s))
        heard.update(dict.fromkeys(a.text for a in hearing.alternatives if not is_unknown(a)))
    return tuple(heard)


def hear(
    models: Sequence[Path], noise: NDArray[np.float32], job: tuple[Utterance, NDArray[np.int16]]
) -> list[Misheard]:
    """What is heard in one utterance, and in the pieces of it where it is talk."""
    utterance, sound = job
    rng = random.Random(utterance.start)
    talk = is_talk(utterance)
    places = [(utterance.start, utterance.samples, utterance.text)]
    if talk:
        cut = _found_in(sound)
        if len(cut) > 1:
            places += [(utterance.start + first, samples, "") for first, samples in cut]
        places += [(start, samples, "") for start, samples in pieces(utterance, rng)]
    found = []
    for start, samples, text in places:
        part = sound[start - utterance.start :][:samples]
        heard = _noisy(part, noise, rng) if rng.random() < _NOISY_SHARE else part
        phrases = _phrases(models, heard)
        found.append(Misheard(start, samples, text, talk, phrases))
    return found


def _noisy(
    sound: NDArray[np.int16], noise: NDArray[np.float32], rng: random.Random
) -> NDArray[np.int16]:
    beside = stretch(noise, len(sound), rng).astype(np.float64)
    mixed = sound + level(sound) * 10 ** (-rng.uniform(*_SNR_DB) / 20) * beside
    return np.asarray(mixed.clip(-32768, 32767), np.int16)


def main() -> None:
    """Hear all that may be trained on, and write what was heard."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("models", type=Path, nargs="+")
    parser.add_argument("--speech", type=Path, nargs="+", required=True, help="as in the training")
    parser.add_argument("--noise", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--share", type=float, default=1.0, help="hear this share of the commands")
    parser.add_argument("--processes", type=int, default=2)
    arguments = parser.parse_args()

    speech = corpus.Corpus.read(arguments.speech)
    noise = np.tile(corpus.read_noise(arguments.noise, held_out=False), 2)
    rng = random.Random(1)
    jobs = [
        (u, speech.sound_of(u))
        for u in speech.utterances
        if not u.held_out
        and u.samples < _MOST_S * SAMPLE_RATE
        and (is_talk(u) or rng.random() < arguments.share)
    ]
    _ACCEPTORS.append(load_grammar().acceptor(Listening.LISTENING))
    work = partial(hear, arguments.models, noise)
    with (
        ProcessPoolExecutor(arguments.processes) as pool,
        arguments.out.open("w", encoding="utf-8") as file,
    ):
        for found in pool.map(work, jobs, chunksize=20):
            file.writelines(json.dumps(asdict(one)) + "\n" for one in found)


if __name__ == "__main__":
    main()
