"""A finished stretch of sound, to be played."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import soxr

if TYPE_CHECKING:
    from numpy.typing import NDArray

PEAK = 0.7
"""Peak of all that is played, of full scale: loud, with room for a speaker's own bass boost."""
QUIET = 0.01
"""Below this share of its peak, sound at either end counts as silence."""


@dataclass(frozen=True, slots=True, eq=False)
class Waveform:
    """Mono sound."""

    samples: NDArray[np.int16]
    rate_hz: int

    @property
    def duration_s(self) -> float:
        """How long it plays, in s."""
        return len(self.samples) / self.rate_hz

    def at_rate(self, rate_hz: int) -> Waveform:
        """The same sound with so many samples a second."""
        if rate_hz == self.rate_hz:
            return self
        return Waveform(soxr.resample(self.samples, self.rate_hz, rate_hz), rate_hz)

    def after(self, pause_s: float) -> Waveform:
        """The same sound after a silence of so many s."""
        pause = np.zeros(round(pause_s * self.rate_hz), dtype=np.int16)
        return Waveform(np.concatenate((pause, self.samples)), self.rate_hz)

    def at_volume(self, percent: int) -> Waveform:
        """The same sound with its peak at so many % of full scale, where it was at ``PEAK``."""
        if percent == round(PEAK * 100):
            return self
        scaled = self.samples * (percent / 100 / PEAK)
        return Waveform(np.rint(np.clip(scaled, -32768, 32767)).astype(np.int16), self.rate_hz)

    def trimmed(self) -> Waveform:
        """Without the silence at either end, and as loud as everything else.

        Each tenth of a second before the first word is one by which the nurse waits longer, and
        each after the last is one for which the microphone is deaf in vain.
        """
        size = np.abs(self.samples.astype(np.float64))
        heard = np.flatnonzero(size > QUIET * size.max(initial=1.0))
        if len(heard) == 0:
            return Waveform(self.samples[:0], self.rate_hz)
        first, last = heard[0], heard[-1] + 1
        scaled = self.samples[first:last] * (PEAK * 32767 / size.max())
        return Waveform(np.rint(scaled).astype(np.int16), self.rate_hz)
