"""Recordings in place of the microphone."""

from __future__ import annotations

import time
from collections import deque
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import soundfile
import soxr

from voice.capture.source import SourceError
from voice.entries.heard import SAMPLE_RATE, Block

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from numpy.typing import NDArray

BLOCK_SAMPLES = 512
"""Samples a block: 32 ms, as the microphone gives them."""
LEAD_S = 0.2
"""Silence before each recording: a speaker draws breath."""
TAIL_S = 0.8
"""Silence after each recording: a speaker who has done; longer than any pause within a phrase."""
LOST_S = 1.0
"""Jump in time after a recording that broke off: half a phrase must not pass for a whole one."""
_UNKNOWN_LENGTH = 0x7FFF0000
LOWEST_RATE = 8_000
"""Samples a second below which speech cannot be made out (telephone speech has 8 kHz)."""


class RecordingError(SourceError):
    """A recording cannot be used."""


class Pace(StrEnum):
    """How fast recordings are given out."""

    REAL = "real"
    """As they would be heard; only jumps in time are skipped."""
    FAST = "fast"
    """As fast as they are taken."""


@dataclass(frozen=True, slots=True)
class Cue:
    """A recording and the earliest time at which it starts."""

    file: Path
    start_s: float = 0.0


class Recordings:
    """Plays recordings as if they came from the microphone, one after the other.

    Each starts at its cue, or as soon after it as the recording before has ended and the program
    has done speaking.
    """

    def __init__(
        self,
        recordings: Iterable[Cue | Path],
        *,
        pace: Pace = Pace.FAST,
        speaking_until: Callable[[], float] = lambda: 0.0,
        clock: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        """``speaking_until`` gives the time, in s, until which the program speaks or is deaf."""
        self._cues = deque(Cue(c) if isinstance(c, Path) else c for c in recordings)
        self._pace = pace
        self._speaking_until = speaking_until
        self._clock = clock
        self._sleep = sleep
        self._now_s = 0.0  # end of the last block
        self.playing: Path | None = None
        """The recording that the last block belongs to."""

    def blocks(self) -> Iterator[Block]:
        """The blocks of all recordings; see ``Source.blocks``.

        Raises ``RecordingError`` for a recording that cannot be used; called again, it goes on
        with the next one.
        """
        while self._cues:
            cue = self._cues.popleft()
            self.playing = cue.file
            sound = read_recording(cue.file)
            try:
                first = next(sound)  # a bad file is found before its silence is given out
                yield from self._lead(cue.start_s)
                yield from self._paced([first])
                yield from self._paced(sound)
            except RecordingError:
                self._now_s += LOST_S
                raise
            yield from self._paced(_silence(TAIL_S))

    def _lead(self, cue_s: float) -> Iterator[Block]:
        """Jump to the cue and give out silence; again, if that moves the program to speak.

        The jump lets time run out for whatever the program was waiting for.
        """
        while True:
            speaking_s = max(0.0, self._speaking_until() - self._now_s)
            if self._pace is Pace.REAL:
                self._sleep(speaking_s)
            self._now_s = max(cue_s, self._now_s + speaking_s)
            yield from self._paced(_silence(LEAD_S))
            if self._speaking_until() <= self._now_s:
                return

    def _paced(self, sound: Iterable[NDArray[np.int16]]) -> Iterator[Block]:
        start_s, started = self._now_s, self._clock()
        for samples in sound:
            block = Block(self._now_s, samples)
            self._now_s = block.end_s
            if self._pace is Pace.REAL:
                ahead_s = (self._now_s - start_s) - (self._clock() - started)
                self._sleep(max(0.0, ahead_s))
            yield block


def read_recording(file: Path) -> Iterator[NDArray[np.int16]]:
    """The sound of ``file`` as mono blocks at 16 kHz; several channels are averaged.

    Raises ``RecordingError`` where the file is missing, empty, no recording, or ends too early.
    """
    if not file.is_file():
        raise RecordingError(f"There is no recording {file}. Check its name and folder.")
    if _is_cut_wav(file):
        raise RecordingError(f"{file} is shorter than it says: it was cut off. Copy it again.")
    try:
        with soundfile.SoundFile(file) as recording:
            yield from _resampled(recording, file)
    except soundfile.SoundFileError as error:
        raise RecordingError(
            f"{file} is not a recording that can be read, or it is damaged. "
            "Give a WAV, FLAC, Ogg, Opus or MP3 file."
        ) from error


def _resampled(recording: soundfile.SoundFile, file: Path) -> Iterator[NDArray[np.int16]]:
    if recording.frames == 0:
        raise RecordingError(f"{file} holds no sound. Record it again.")
    if recording.samplerate < LOWEST_RATE:
        raise RecordingError(
            f"{file} has {recording.samplerate} samples a second, too few for speech. "
            f"Record it with {SAMPLE_RATE}."
        )
    resampler = soxr.ResampleStream(recording.samplerate, SAMPLE_RATE, 1, dtype="float32")
    rest = np.zeros(0, dtype=np.int16)
    read = 0
    while read < recording.frames:
        channels = recording.read(recording.samplerate, dtype="float32", always_2d=True)
        read += len(channels)
        if len(channels) == 0:
            raise RecordingError(f"{file} is shorter than it says: it was cut off. Copy it again.")
        resampled = resampler.resample_chunk(channels.mean(axis=1), last=read == recording.frames)
        whole = np.clip(np.rint(resampled * 32768), -32768, 32767).astype(np.int16)
        rest = np.concatenate((rest, whole))
        while len(rest) >= BLOCK_SAMPLES:
            yield rest[:BLOCK_SAMPLES]
            rest = rest[BLOCK_SAMPLES:]
    if len(rest):
        yield rest


def _is_cut_wav(file: Path) -> bool:
    """Whether a WAV file lacks bytes that its head promises; libsndfile does not tell."""
    with file.open("rb") as stream:
        head = stream.read(8)
    promised = int.from_bytes(head[4:8], "little")
    # programs that write into a pipe cannot know the length and put the greatest number there
    return head[:4] == b"RIFF" and file.stat().st_size < promised + 8 < _UNKNOWN_LENGTH


def _silence(duration_s: float) -> Iterator[NDArray[np.int16]]:
    for _ in range(round(duration_s * SAMPLE_RATE / BLOCK_SAMPLES)):
        yield np.zeros(BLOCK_SAMPLES, dtype=np.int16)
