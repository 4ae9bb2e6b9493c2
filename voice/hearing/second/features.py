"""Sound to what Whisper's encoder takes: log-mel energies, 80 bands, one frame each 10 ms.

Source: Radford et al., "Robust Speech Recognition via Large-Scale Weak Supervision", 2022, section 2.2; the
details as its published program has them.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from voice.entries.heard import SAMPLE_RATE

if TYPE_CHECKING:
    from numpy.typing import NDArray

BANDS = 80
HOP = 160
"""Samples from one frame to the next."""
_WINDOW = 400
_FULL_SCALE = np.float32(32768)
_LINEAR_TO_HZ = 1000.0
"""Bands are as wide as each other up to here, and grow by a constant factor above."""
_HZ_A_MEL = 200.0 / 3
_GROWTH = np.log(6.4) / 27.0


def log_mel(samples: NDArray[np.int16], length_s: float) -> NDArray[np.float32]:
    """The energies of ``samples``, cut off or filled up with silence to ``length_s``: frames by bands."""
    wanted = round(length_s * SAMPLE_RATE)
    sound = np.zeros(wanted, np.float32)
    kept = samples[:wanted]
    sound[: len(kept)] = kept / _FULL_SCALE
    padded = np.pad(sound, _WINDOW // 2, mode="reflect")
    frames = np.lib.stride_tricks.sliding_window_view(padded, _WINDOW)[::HOP][: wanted // HOP]
    window = np.hanning(_WINDOW + 1)[:-1].astype(np.float32)
    power = np.abs(np.fft.rfft(frames * window).astype(np.complex64)) ** 2
    log = np.log10(np.maximum(power @ _bands().T, np.float32(1e-10)))
    scaled: NDArray[np.float32] = (np.maximum(log, log.max() - 8) + 4) / 4
    return scaled


@cache
def _bands() -> NDArray[np.float32]:
    """The weight of each frequency in each band: triangles of equal area on Slaney's mel scale."""
    highest = _LINEAR_TO_HZ / _HZ_A_MEL + np.log(SAMPLE_RATE / 2 / _LINEAR_TO_HZ) / _GROWTH
    mels = np.linspace(0.0, highest, BANDS + 2)
    linear = np.minimum(mels, _LINEAR_TO_HZ / _HZ_A_MEL) * _HZ_A_MEL
    edges = linear * np.exp(_GROWTH * np.maximum(0.0, mels - _LINEAR_TO_HZ / _HZ_A_MEL))
    offsets = edges[:, None] - np.fft.rfftfreq(_WINDOW, 1 / SAMPLE_RATE)
    widths = np.diff(edges)[:, None]
    triangles = np.maximum(0.0, np.minimum(-offsets[:-2] / widths[:-1], offsets[2:] / widths[1:]))
    weights: NDArray[np.float64] = triangles * (2.0 / (edges[2:] - edges[:-2]))[:, None]
    return weights.astype(np.float32)
