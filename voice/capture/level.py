"""How loud a microphone's sound is, and what is wrong with it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_FULL = 32768
_CLIPPED_RUN = 3
"""So many equal samples at the edge of the range in a row are a peak that was cut off."""


@dataclass(frozen=True, slots=True)
class Level:
    """The level of a stretch of sound; dBFS is decibels of the greatest sample there can be, 0 or less."""

    loudest_dbfs: float
    mean_dbfs: float
    """Of its power, without the constant part."""
    clipped: int
    """How many peaks were cut off."""
    offset: float
    """The constant part, as a share of full scale, -1 to 1."""

    @property
    def dead(self) -> bool:
        """Whether there is nothing at all in it, not even hiss: muted, or not connected."""
        return self.loudest_dbfs == -math.inf


def level(samples: NDArray[np.int16]) -> Level:
    """Measure mono sound; it has to hold some."""
    sound = samples.astype(np.float64) / _FULL
    offset = float(sound.mean())
    moving = sound - offset if np.ptp(samples) else np.zeros(len(samples))
    at_edge = (samples <= -_FULL) | (samples >= _FULL - 1)
    runs = np.convolve(at_edge, np.ones(_CLIPPED_RUN), "valid") == _CLIPPED_RUN
    begins = runs & ~np.concatenate(([False], runs[:-1]))
    return Level(
        loudest_dbfs=_dbfs(float(np.abs(moving).max())),
        mean_dbfs=_dbfs(float(np.sqrt(np.mean(moving**2)))),
        clipped=int(begins.sum()),
        offset=offset,
    )


def _dbfs(share: float) -> float:
    return 20 * math.log10(share) if share > 0 else -math.inf
