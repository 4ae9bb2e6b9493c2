"""A room in which the program hears itself: its own sound comes back, and somebody speaks over it.

Nothing here plays or records: time goes on with the blocks. The sound is real, and so is all that
hears it.
"""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import dataclass, field
from functools import lru_cache
from io import BytesIO
from typing import TYPE_CHECKING

import numpy as np
import soundfile
import soxr

from voice.entries.heard import SAMPLE_RATE, Block

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from voice.speech.waveform import Waveform

    Sound = NDArray[np.float64]

BLOCK = 512
DELAY_S = 0.09
"""From a sample handed to the speaker until its echo comes in."""
PATIENCE_S = 0.8
"""Silence of the program after which the nurse speaks again, if nothing else is told."""
LEVEL = 0.05 * 32768
"""Level of the nurse's voice while she speaks: root of the mean square."""


@dataclass(frozen=True)
class Line:
    """What the nurse says: when the program has done speaking, or over it."""

    text: str
    over_s: float | None = None
    """So long after the program has begun to speak; ``None``: when it is silent."""
    pause_s: float = 0.0
    """Then the nurse pauses, whatever the program does, and says ``rest``."""
    rest: str = ""


@dataclass
class Room:
    """Microphone and speaker of a session, and the nurse between them."""

    lines: list[Line]
    echo_db: float | None = None
    """How loud the program comes back, against the nurse's voice; ``None``: not at all."""
    noise: Sound | None = None
    voice: str = "en-us+f3"
    patience_s: float = PATIENCE_S
    """Silence of the program after which the nurse speaks again."""
    now_s: float = 0.0
    said: list[tuple[str, float, float]] = field(default_factory=list)
    """What the nurse said, and when it began and ended."""
    silenced_s: list[float] = field(default_factory=list)
    """When the program was made to fall silent."""

    def __post_init__(self) -> None:
        self._played = np.zeros(0, dtype=np.int16)  # all that is, or will be, played
        self._turn_s = 0.0  # when the program began to speak
        rng = np.random.default_rng(5)
        walls = rng.standard_normal(1900) * np.exp(-np.arange(1900) / 320) * 0.3
        walls[0] = 1.0
        self._walls = walls / np.sqrt((walls**2).sum())

    # --- the speaker -----------------------------------------------------------------------------

    @property
    def ends_s(self) -> float:
        """When the program will have done speaking."""
        return len(self._played) / SAMPLE_RATE

    def slipped_s(self) -> float:
        """It is never too busy."""
        return 0.0

    def play(self, waveform: Waveform, at_s: float) -> float:
        """After what still plays, else at once."""
        at = round(max(at_s, self.now_s) * SAMPLE_RATE)
        if at > len(self._played):
            self._played = np.concatenate(
                (self._played, np.zeros(at - len(self._played), dtype=np.int16))
            )
            self._turn_s = at / SAMPLE_RATE
        added = waveform.at_rate(SAMPLE_RATE).samples
        self._played = np.concatenate((self._played, added))
        return self.ends_s

    def stop(self) -> None:
        """Play no more."""
        self.silenced_s.append(self.now_s)
        self._played = self._played[: round(self.now_s * SAMPLE_RATE)]

    def close(self) -> None:
        """There is no device."""

    def place_of(self, at_s: float) -> int | None:
        """The samples are handed over in their time."""
        return round(at_s * SAMPLE_RATE)

    def played(self, first: int, count: int) -> NDArray[np.int16]:
        """From a place on."""
        sound = np.zeros(count, dtype=np.int16)
        known = self._played[max(0, first) : max(0, first + count)]
        begin = max(0, -first)
        sound[begin : begin + len(known)] = known
        return sound

    # --- the microphone --------------------------------------------------------------------------

    def blocks(self) -> Iterator[Block]:
        """What comes in, until the nurse has said all and the program has answered."""
        for line in self.lines:
            yield from self._until(line)
            sound = spoken(line.text, self.voice)
            if line.rest:
                pause = np.zeros(round(line.pause_s * SAMPLE_RATE))
                sound = np.concatenate((sound, pause, spoken(line.rest, self.voice)))
            self.said.append((line.text, self.now_s, self.now_s + len(sound) / SAMPLE_RATE))
            yield from self._heard(sound)
        yield from self._quiet(max(2.5, self.patience_s))
        while self.now_s < self.ends_s:
            yield from self._quiet(0.1)

    def _until(self, line: Line) -> Iterator[Block]:
        if line.over_s is None:
            yield from self._quiet(max(1.2, self.patience_s))
            while self.now_s < self.ends_s + self.patience_s:
                yield from self._quiet(0.1)
        else:
            before_s, patience = self._turn_s, 50
            while self._turn_s == before_s and patience:
                yield from self._quiet(0.1)
                patience -= 1
            while self.now_s < self._turn_s + line.over_s:
                yield from self._quiet(0.03)

    def _quiet(self, duration_s: float) -> Iterator[Block]:
        yield from self._heard(np.zeros(round(duration_s * SAMPLE_RATE)))

    def _heard(self, sound: Sound) -> Iterator[Block]:
        padded = np.concatenate((sound, np.zeros(-len(sound) % BLOCK)))
        for start in range(0, len(padded), BLOCK):
            first = round(self.now_s * SAMPLE_RATE)
            mixed = padded[start : start + BLOCK] + self._echo(first)
            if self.noise is not None:
                mixed = mixed + self.noise[first % (len(self.noise) - BLOCK) :][:BLOCK]
            samples = np.clip(np.rint(mixed), -32768, 32767).astype(np.int16)
            block = Block(self.now_s, samples)
            self.now_s = (first + BLOCK) / SAMPLE_RATE
            yield block

    def _echo(self, first: int) -> Sound:
        if self.echo_db is None:
            return np.zeros(BLOCK)
        tail = len(self._walls) - 1
        sound = self.played(first - round(DELAY_S * SAMPLE_RATE) - tail, BLOCK + tail)
        if not sound.any():
            return np.zeros(BLOCK)
        gain = 10 ** (self.echo_db / 20) * LEVEL / OWN_LEVEL
        return np.asarray(gain * np.convolve(sound, self._walls, "valid"))


def level_of(sound: Sound) -> float:
    """Root of the mean square where it is within 30 dB of its loudest 20 ms."""
    powers = (sound[: len(sound) // 320 * 320].reshape(-1, 320) ** 2).mean(axis=1)
    return float(np.sqrt(powers[powers > powers.max() / 1000].mean()))


OWN_LEVEL = 3200.0
"""Level of the program's own voice as it is played, about."""


@lru_cache(maxsize=200)
def spoken(text: str, voice: str) -> Sound:
    """``text`` in one of the voices of espeak-ng or, by a bare name, flite, at ``LEVEL``."""
    if "-" in voice:
        command = [str(shutil.which("espeak-ng")), "-v", voice, "-s", "150", "--stdout", text]
    else:
        command = [str(shutil.which("flite")), "-voice", voice, "-t", text, "-o", "/dev/stdout"]
    done = subprocess.run(command, capture_output=True, check=True)
    samples, rate = soundfile.read(BytesIO(done.stdout), dtype="float64")
    sound = soxr.resample(samples, rate, SAMPLE_RATE)
    (loud,) = np.nonzero(np.abs(sound) > 0.02 * np.abs(sound).max())
    sound = sound[loud[0] : loud[-1] + 1]
    return np.asarray(sound * LEVEL / level_of(sound))
