"""The way from speaker to microphone found again where only its delay has changed.

When a device is opened anew, or stumbles, the room stays as it was and the echo comes a little earlier or later. To learn
all of it again takes seconds; to find by how much it has moved takes a fraction of one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from voice.entries.heard import SAMPLE_RATE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Sound = NDArray[np.float64]

MOST = round(0.2 * SAMPLE_RATE)
"""Samples by which it may have moved, either way: from one depth of the speaker to another 0.17 s."""
SURE_DB = 6.0
"""So much fainter must be what is left of what is heard, when the echo by this way is taken out. Of an echo as loud as all
else that is heard no more than 3 dB can be."""
OUTSIDE = 0.01
"""Share of the way's power that may lie outside of what a filter can hold, once it has moved."""


def moved(way: Sound, played: Sound, heard: Sound) -> Sound | None:
    """``way`` as it is now, or ``None`` where it does not fit any more, or there is too little echo to tell.

    ``way`` is the answer of the room to one sample, ``heard`` what came in, and ``played`` what was handed over from
    ``before(way)`` samples before the first of ``heard`` to ``MOST`` after the last.
    """
    size = 1 << (len(played) + len(way)).bit_length()
    turned = np.fft.rfft(played, size) * np.fft.rfft(way, size)
    expected = np.fft.irfft(turned, size)[len(way) - 1 : len(played)]  # 2 * MOST longer than heard
    alike = np.fft.irfft(np.fft.rfft(expected, size).conj() * np.fft.rfft(heard, size), size)
    alike = np.concatenate((alike[-2 * MOST :], alike[:1]))[::-1]  # by the place in ``expected``
    powers = np.concatenate(([0.0], np.cumsum(expected**2)))
    power = powers[len(heard) :] - powers[: -len(heard)]
    at = int((alike.clip(0.0) ** 2 / (power + 1.0)).argmax())
    left = heard - expected[at : at + len(heard)]
    if (heard**2).sum() < 10 ** (SURE_DB / 10) * (left**2).sum() + 1.0:
        return None
    later = MOST - at
    shifted = np.zeros_like(way)
    kept = way[max(0, -later) : len(way) - max(0, later)]
    shifted[max(0, later) :][: len(kept)] = kept
    whole = (way**2).sum()
    return shifted if (shifted**2).sum() >= (1 - OUTSIDE) * whole else None


def before(way: Sound) -> int:
    """How much of what was handed over before ``heard`` is needed."""
    return len(way) - 1 + MOST
