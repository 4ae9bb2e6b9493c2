"""How a leg sounded: what came in and what was spoken, in one recording."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import soundfile

from voice.entries.errors import LegbookError
from voice.entries.heard import SAMPLE_RATE

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from voice.entries.heard import Block
    from voice.speech.waveform import Waveform

LONGEST_GAP_S = 1.5
"""Silence between recordings is shortened to this."""


class MixdownError(LegbookError):
    """The recording of the leg cannot be written."""


class Mixdown:
    """Writes a WAV as the leg goes on; each stretch of sound in its place.

    Sound that comes in must be given in order; what is spoken, before the sound that comes in while
    it plays.
    """

    def __init__(self, path: Path) -> None:
        """Begin the recording; raises ``MixdownError`` where it cannot be written."""
        try:
            self._file = soundfile.SoundFile(
                path, "w", SAMPLE_RATE, channels=1, format="WAV", subtype="PCM_16"
            )
        except soundfile.SoundFileError:
            raise MixdownError(
                f"{path} cannot be written. Name a file in another folder."
            ) from None
        self._at = 0  # the sample up to which all is written, on the source's clock
        self._waiting: list[tuple[int, NDArray[np.int16]]] = []

    def heard(self, block: Block) -> None:
        """Sound that came in."""
        start = round(block.start_s * SAMPLE_RATE)
        self._pass_gap(start)
        self._write(block.samples[max(0, self._at - start) :])

    def spoken(self, start_s: float, waveform: Waveform) -> None:
        """Sound that is played from ``start_s`` on."""
        start = max(self._at, round(start_s * SAMPLE_RATE))
        self._waiting.append((start, waveform.at_rate(SAMPLE_RATE).samples))
        self._waiting.sort(key=lambda waiting: waiting[0])

    def close(self) -> None:
        """Write what is still to be played, and end."""
        self._pass_gap(max((start + len(samples) for start, samples in self._waiting), default=0))
        self._file.close()

    def _pass_gap(self, until: int) -> None:
        """Go on to ``until``, where no sound comes in: what is spoken, and short silences."""
        for start, samples in list(self._waiting):
            self._pass_silence(min(start, until))
            self._write_silence(min(start + len(samples), until))
        self._pass_silence(until)

    def _pass_silence(self, until: int) -> None:
        self._at = max(self._at, until - round(LONGEST_GAP_S * SAMPLE_RATE))
        self._write_silence(until)

    def _write_silence(self, until: int) -> None:
        self._write(np.zeros(max(0, until - self._at), dtype=np.int16))

    def _write(self, sound: NDArray[np.int16]) -> None:
        """``sound`` at the present place, mixed with what is spoken over it."""
        mixed = sound.astype(np.int32)
        end = self._at + len(mixed)
        for start, samples in self._waiting:
            first, last = max(start, self._at), min(start + len(samples), end)
            if first < last:
                mixed[first - self._at : last - self._at] += samples[first - start : last - start]
        self._waiting = [(s, samples) for s, samples in self._waiting if s + len(samples) > end]
        self._file.write(np.clip(mixed, -32768, 32767).astype(np.int16))
        self._at = end
