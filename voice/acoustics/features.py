"""Log-mel energies, as the orthogonal inverse of the cepstra that Kaldi computes.

With as many coefficients as bands and no lifter, Kaldi's MFCC are an orthogonal transform of the
log-mel energies. Training works on the energies, where masking and warping of bands mean
something; `dct` is folded into the network's first layer when it is written for Kaldi.

Source: Kaldi, ``feat/feature-window.cc`` and ``feat/mel-computations.cc`` (Povey window, mel scale
1127 ln(1 + f / 700), power spectrum of 512 points).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import torch

if TYPE_CHECKING:
    from numpy.typing import NDArray

SAMPLE_RATE = 16_000
WINDOW = 400
STEP = 160
"""A frame of 25 ms every 10 ms, in samples."""
BANDS = 40
LOW_HZ = 20
HIGH_HZ = 7600
MFCC_CONF = f"""\
--sample-frequency={SAMPLE_RATE}
--dither=0
--use-energy=false
--num-mel-bins={BANDS}
--num-ceps={BANDS}
--low-freq={LOW_HZ}
--high-freq={HIGH_HZ - SAMPLE_RATE // 2}
--cepstral-lifter=0
"""
"""The same in Kaldi's words, for the model's ``conf/mfcc.conf``. Without its dither, so that the same sound
always scores the same: the twin at the end of a list was there on one hearing and not on the next."""
_FFT = 512
_FLOOR = 1.1920929e-07


def mel_filters() -> NDArray[np.float32]:
    """The triangular filters: bands by points of the spectrum."""

    def mel(hertz: NDArray[np.float64] | float) -> NDArray[np.float64]:
        return np.asarray(1127.0 * np.log(1 + np.asarray(hertz) / 700.0))

    low, high = mel(LOW_HZ), mel(HIGH_HZ)
    edges = low + np.arange(BANDS + 2) * (high - low) / (BANDS + 1)
    points = mel(np.arange(_FFT // 2 + 1) * SAMPLE_RATE / _FFT)
    left, centre, right = edges[:-2, None], edges[1:-1, None], edges[2:, None]
    rising, falling = (points - left) / (centre - left), (right - points) / (right - centre)
    return np.maximum(0, np.minimum(rising, falling)).astype(np.float32)


def dct() -> NDArray[np.float64]:
    """The orthogonal matrix that turns log-mel energies into Kaldi's MFCC."""
    k, band = np.arange(BANDS)[:, None], np.arange(BANDS)[None]
    matrix = np.sqrt(2 / BANDS) * np.cos(np.pi / BANDS * (band + 0.5) * k)
    matrix[0] = np.sqrt(1 / BANDS)
    return np.asarray(matrix)


class LogMel(torch.nn.Module):  # type: ignore[misc]
    """Sound to log-mel energies: (batch, samples) of 16-bit range to (batch, frames, bands)."""

    window: torch.Tensor
    filters: torch.Tensor

    def __init__(self) -> None:
        super().__init__()
        hann = 0.5 - 0.5 * torch.cos(2 * math.pi * torch.arange(WINDOW) / (WINDOW - 1))
        self.register_buffer("window", hann**0.85)
        self.register_buffer("filters", torch.from_numpy(mel_filters().T.copy()))

    def forward(self, samples: torch.Tensor) -> torch.Tensor:
        """The energies of every whole frame."""
        frames = samples.unfold(1, WINDOW, STEP)
        frames = frames - frames.mean(-1, keepdim=True)
        before = torch.cat([frames[..., :1], frames[..., :-1]], -1)
        spectrum = torch.fft.rfft((frames - 0.97 * before) * self.window, _FFT).abs() ** 2
        return torch.log(torch.clamp(spectrum @ self.filters, min=_FLOOR))
