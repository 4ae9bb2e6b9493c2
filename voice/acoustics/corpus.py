"""The speech that is trained on, and the speech that is kept out of it.

A corpus is a folder of ``*.jsonl`` files (a line for each utterance: file, start and samples at
16 kHz, text, voice, set, licence) beside the recordings they name.
"""

from __future__ import annotations

import hashlib
import json
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import soundfile

if TYPE_CHECKING:
    import random
    from collections.abc import Iterable
    from pathlib import Path

    from numpy.typing import NDArray

SAMPLE_RATE = 16_000

HELD_OUT_VOICES = frozenset(
    {
        "flite_rms",
        "fsdd_lucas",
        "ls_19",
        *("kok_am_michael", "kok_am_fenrir", "kok_bf_emma", "kok_bm_george"),
        *("kok_af_nova", "kok_af_kore"),
        *("kok_zf_xiaobei", "kok_zf_xiaoxiao", "kok_bm_lewis", "kok_af_jessica"),
    }
)
"""Voices that are in no training. The last four are heard to choose between trainings."""
HELD_OUT_NOISE = "5-177957"
"""The helicopter recording (a take-off heard from inside) that is in no training."""
_ONE_IN = {"human-speech_commands": 8, "human-wuw2": 4}
"""Of these sets' speakers one in so many is kept out, chosen by the hash of the name."""
_PAUSE, _LONG_PAUSE = SAMPLE_RATE // 10, SAMPLE_RATE // 2
"""The longest silence between spliced words, as people mostly speak and where they hesitate."""
_HESITANT = 0.2
_HELD_OUT_LICENCE = "public domain (author waiver)"
"""Wake words whose speakers are not told apart: the whole collection is kept out."""


@dataclass(frozen=True, slots=True)
class Utterance:
    """One utterance and where it lies in the corpus's long recording."""

    start: int
    samples: int
    text: str
    voice: str
    set: str
    held_out: bool


def held_out(row: dict[str, str]) -> bool:
    """Whether an utterance belongs to the speech that only tests may use."""
    if row["voice"] in HELD_OUT_VOICES:
        return True
    if row["set"].startswith(("test-", "strange-", "development-")) or row["set"].endswith("-dev"):
        return True
    if row["licence"] == _HELD_OUT_LICENCE:
        return True
    for name, one_in in _ONE_IN.items():
        if row["set"].startswith(name):
            speaker = row["voice"].rsplit("_", 1)[-1]
            return hashlib.sha256(speaker.encode()).digest()[0] % one_in == 0
    return False


@dataclass(frozen=True, slots=True)
class Corpus:
    """All sound end to end, and the utterances in it."""

    sound: NDArray[np.int16]
    utterances: tuple[Utterance, ...]

    @classmethod
    def read(cls, folders: Iterable[Path]) -> Corpus:
        """Read every utterance of every folder."""
        rows = []
        for folder in folders:
            for listing in sorted(folder.glob("*.jsonl")):
                lines = listing.read_text("utf-8").splitlines()
                rows += [(folder / row["file"], row) for row in map(json.loads, lines)]
        files = sorted({path for path, _ in rows})
        with ThreadPoolExecutor() as pool:
            sounds = list(pool.map(read_sound, files))
        starts = dict(zip(files, np.cumsum([0, *map(len, sounds)]).tolist(), strict=False))
        utterances = [
            Utterance(
                start=starts[path] + row["start"],
                samples=row["samples"],
                text=row["text"],
                voice=row["voice"],
                set=row["set"],
                held_out=held_out(row),
            )
            for path, row in rows
        ]
        return cls(np.concatenate(sounds), tuple(utterances))

    def sound_of(self, utterance: Utterance) -> NDArray[np.int16]:
        """The samples of one utterance."""
        return self.sound[utterance.start : utterance.start + utterance.samples]


def read_sound(path: Path) -> NDArray[np.int16]:
    """A recording at 16 kHz."""
    samples, rate = soundfile.read(path, dtype="int16")
    if rate != SAMPLE_RATE or samples.ndim != 1:
        raise ValueError(f"{path} must be mono at {SAMPLE_RATE} Hz.")
    return np.asarray(samples)


def read_noise(folder: Path, *, held_out: bool) -> NDArray[np.float32]:
    """The helicopter recordings end to end, each of unit power: for training, or for tests."""
    from scipy.signal import resample_poly  # noqa: PLC0415 - slow to import, needed only here

    parts = []
    for path in sorted(folder.glob("*.ogg")):
        if path.name.startswith(HELD_OUT_NOISE) != held_out:
            continue
        samples, rate = soundfile.read(path, dtype="float32", always_2d=True)
        divisor = int(np.gcd(rate, SAMPLE_RATE))
        mono = resample_poly(samples[:, 0], SAMPLE_RATE // divisor, rate // divisor)
        loud = np.sqrt(np.convolve(mono**2, np.ones(4000) / 4000, "same"))
        mono = mono[loud > 0.05 * loud.max()]
        parts.append((mono / (mono.std() + 1e-9)).astype(np.float32))
    return np.concatenate(parts)


def spliced(corpus: Corpus, count: int, rng: random.Random) -> Corpus:
    """Add phrases made of one person's single words, close together as in speech."""
    words: dict[str, list[Utterance]] = {}
    for u in corpus.utterances:
        single = u.set.startswith(("human-speech_commands", "human-fsdd"))
        if single and not u.held_out:
            words.setdefault(u.voice, []).append(u)
    speakers = [voice for voice, said in words.items() if len({u.text for u in said}) >= 3]
    weights = [len(words[voice]) ** 0.5 for voice in speakers]
    sounds, utterances, start = [corpus.sound], list(corpus.utterances), len(corpus.sound)
    for voice in rng.choices(speakers, weights, k=count):
        chosen = [rng.choice(words[voice]) for _ in range(rng.randint(2, 5))]
        pieces: list[NDArray[np.int16]] = []
        for u in chosen:
            pause = rng.randint(0, _LONG_PAUSE if rng.random() < _HESITANT else _PAUSE)
            pieces += [trimmed(corpus.sound_of(u)), np.zeros(pause, np.int16)]
        sound = np.concatenate(pieces)
        text = " ".join(u.text for u in chosen)
        utterances.append(
            replace(chosen[0], start=start, samples=len(sound), text=text, set="human-spliced")
        )
        sounds.append(sound)
        start += len(sound)
    return Corpus(np.concatenate(sounds), tuple(utterances))


def trimmed(samples: NDArray[np.int16]) -> NDArray[np.int16]:
    """Without the quiet before and after: what lies outside 99 % of the energy, less 50 ms."""
    energy = np.cumsum(samples.astype(np.float64) ** 2)
    if energy[-1] == 0:
        return samples
    first, last = np.searchsorted(energy / energy[-1], [0.005, 0.995])
    margin = SAMPLE_RATE // 20
    return samples[max(0, first - margin) : last + margin]
