"""Rooms, filters, noise and levels, put on whole batches of speech at once on the GPU.

Every function takes and gives a batch of sounds of 16 kHz: (batch, samples). The ranges are
choices of this project, without an outside source; docs/model-card.md has what they gave.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import torch
from torch.nn import functional

from voice.acoustics.features import SAMPLE_RATE

SNR_DB = (-5.0, 28.0)
"""Speech against noise, by the power of the whole utterance."""
CLEAN_SHARE = 0.12
LEVEL_DBFS = (-38.0, -12.0)
CLIPPED_SHARE = 0.1
SPEED = (0.78, 1.32)
"""Resampling: pitch and tempo together, as in a tape that runs faster."""
STRETCH = (0.85, 1.4)
"""Tempo alone: above 1 slower."""
STRETCHED_SHARE = 0.5
_FULL_SCALE = 32768.0


def _uniform(low: float, high: float, shape: tuple[int, ...], like: torch.Tensor) -> torch.Tensor:
    return torch.empty(shape, device=like.device).uniform_(low, high)


def _chosen(share: float, like: torch.Tensor) -> torch.Tensor:
    """True for about this share of the batch, as a column."""
    return torch.rand(len(like), 1, device=like.device) < share


def take(flat: torch.Tensor, start: torch.Tensor, speed: torch.Tensor, length: int) -> torch.Tensor:
    """Read ``length`` samples from each start of one long recording, faster or slower."""
    steps = torch.arange(length, device=flat.device)
    place = start[:, None] + steps * speed[:, None].double()
    whole = place.floor().long().clamp_(0, len(flat) - 2)
    part = (place - whole).float().clamp_(0, 1)
    return flat[whole].float() * (1 - part) + flat[whole + 1].float() * part


def convolve(x: torch.Tensor, response: torch.Tensor) -> torch.Tensor:
    """Each sound through its own impulse response, cut to its old length."""
    full = x.shape[1] + response.shape[1] - 1
    points = 1 << (full - 1).bit_length()
    product = torch.fft.rfft(x, points) * torch.fft.rfft(response, points)
    return torch.fft.irfft(product, points)[:, : x.shape[1]]


def small_room(x: torch.Tensor) -> torch.Tensor:
    """A cabin or a ward: reverberation of 50 to 400 ms."""
    column = (len(x), 1)
    t = torch.arange(SAMPLE_RATE // 4, device=x.device) / SAMPLE_RATE
    decay = torch.exp(-6.9 * t / _uniform(0.05, 0.4, column, x))
    response = torch.randn(len(x), len(t), device=x.device) * decay
    response *= _uniform(0.0, 0.3, column, x)
    response[:, 0] = 1.0
    return convolve(x, response)


def filtered(x: torch.Tensor, share: float = 0.3) -> torch.Tensor:
    """A smooth random response, a tilt (a raised voice lifts the high bands), and band limits."""
    spectrum = torch.fft.rfft(x)
    points = spectrum.shape[1]
    hertz = torch.arange(points, device=x.device) * SAMPLE_RATE / x.shape[1]
    knots = torch.randn(len(x), 1, 7, device=x.device) * 4.0
    gain = functional.interpolate(knots, size=points, mode="linear", align_corners=True)[:, 0]
    octaves_over_500_hz = torch.log2(hertz.clamp(min=62.5) / 500)
    gain = gain + _uniform(-2.5, 4.0, (len(x), 1), x) * octaves_over_500_hz
    response = 10 ** (gain / 20)
    top = _uniform(3000, 7000, (len(x), 1), x)
    low_pass = torch.sigmoid((top - hertz) / 100)
    bottom = _uniform(80, 450, (len(x), 1), x)
    high_pass = torch.sigmoid((hertz - bottom) / 30)
    response = torch.where(_chosen(share, x), response * low_pass, response)
    response = torch.where(_chosen(share, x), response * high_pass, response)
    return torch.fft.irfft(spectrum * response, x.shape[1])


def coloured_noise(batch: int, length: int, device: torch.device) -> torch.Tensor:
    """White to brown noise."""
    spectrum = torch.fft.rfft(torch.randn(batch, length, device=device))
    points = torch.arange(spectrum.shape[1], device=device) + 1.0
    return torch.fft.irfft(spectrum / points ** (torch.rand(batch, 1, device=device) * 1.2), length)


def rotor_noise(batch: int, length: int, device: torch.device) -> torch.Tensor:
    """Made-up rotor: noise that swells with each blade, its harmonics, and a turbine's whine."""
    t = torch.arange(length, device=device) / SAMPLE_RATE

    def some(low: float, high: float) -> torch.Tensor:
        return torch.empty(batch, 1, device=device).uniform_(low, high)

    def phase() -> torch.Tensor:
        return some(0, 2 * math.pi)

    blade_hz = some(10, 30)
    noise = coloured_noise(batch, length, device)
    noise = noise / noise.std(1, keepdim=True)
    swell = 0.5 + 0.5 * torch.cos(2 * math.pi * blade_hz * t + phase())
    sound = noise * (0.3 + swell ** some(1, 6))
    for k in range(1, 7):
        harmonic = 2 * math.pi * k * blade_hz * t * (1 + 4 * (k % 2))
        sound = sound + some(0, 0.7) * torch.cos(harmonic + phase())
    return sound + some(0, 0.5) * torch.sin(2 * math.pi * some(1200, 4800) * t)


@dataclass(frozen=True, slots=True)
class Noises:
    """Recorded noise and recorded speech, each end to end, to be mixed in."""

    recorded: torch.Tensor
    speech: torch.Tensor

    def _from(self, flat: torch.Tensor, batch: int, length: int) -> torch.Tensor:
        speed = torch.empty(batch, device=flat.device).uniform_(0.7, 1.4)
        span = int(length * 1.4) + 2
        start = torch.randint(0, len(flat) - span, (batch,), device=flat.device)
        return take(flat, start, speed, length)

    def draw(self, batch: int, length: int) -> torch.Tensor:
        """One kind of noise for a whole batch, each of unit power."""
        kind = torch.rand(()).item()
        if kind < 0.55:
            noise = self._from(self.recorded, batch, length)
        elif kind < 0.75:
            noise = rotor_noise(batch, length, self.recorded.device)
        elif kind < 0.88:
            noise = coloured_noise(batch, length, self.recorded.device)
        else:
            noise = sum(
                (self._from(self.speech, batch, length) for _ in range(4)),
                start=torch.zeros(batch, length, device=self.recorded.device),
            )
        return noise / (noise.std(1, keepdim=True) + 1e-6)

    def mixture(self, batch: int, length: int) -> torch.Tensor:
        """Two kinds, in random parts, through random filters."""
        part = torch.rand(batch, 1, device=self.recorded.device)
        part = torch.where(part < 0.5, torch.zeros_like(part), part)
        noise = self.draw(batch, length) * (1 - part) + self.draw(batch, length) * part
        noise = filtered(noise, share=0.1)
        return noise / (noise.std(1, keepdim=True) + 1e-6)


def disturb(x: torch.Tensor, speaking: torch.Tensor, noises: Noises) -> torch.Tensor:
    """Clean speech to what a microphone in a cabin gives, in 16-bit range.

    ``speaking`` is 1 where a row holds its utterance and 0 before and after it.
    """
    if torch.rand(()).item() < 0.35:
        x = small_room(x)
    if torch.rand(()).item() < 0.7:
        x = filtered(x)
    power = ((x * speaking) ** 2).sum(1, keepdim=True) / speaking.sum(1, keepdim=True)
    x = x / (power.sqrt() + 1e-6)
    snr = _uniform(*SNR_DB, (len(x), 1), x)
    snr = torch.where(_chosen(CLEAN_SHARE, x), torch.full_like(snr, 45.0), snr)
    x = x + noises.mixture(*x.shape) * 10 ** (-snr / 20)
    x = x * 10 ** (_uniform(*LEVEL_DBFS, (len(x), 1), x) / 20) * _FULL_SCALE
    limit = _uniform(4000, 14000, (len(x), 1), x)
    x = torch.where(_chosen(CLIPPED_SHARE, x), torch.minimum(torch.maximum(x, -limit), limit), x)
    hiss = torch.randn_like(x) * _uniform(0, 1.5, (len(x), 1), x)
    return (x + hiss).clamp(-_FULL_SCALE, _FULL_SCALE - 1)


def warped(energies: torch.Tensor) -> torch.Tensor:
    """Other vocal tracts: the mel axis stretched by up to 18 % and shifted by up to two bands."""
    batch, frames, bands = energies.shape
    stretch = torch.empty(batch, 1, 1, device=energies.device).uniform_(0.84, 1.18)
    shift = torch.empty(batch, 1, 1, device=energies.device).uniform_(-2, 2)
    place = (torch.arange(bands, device=energies.device) * stretch + shift).clamp(0, bands - 1)
    below = place.floor().long()
    part = place - below
    above = (below + 1).clamp(max=bands - 1)
    shape = (batch, frames, bands)
    return energies.gather(2, below.expand(shape)) * (1 - part) + (
        energies.gather(2, above.expand(shape)) * part
    )


def stretched(energies: torch.Tensor, factor: torch.Tensor) -> torch.Tensor:
    """Slower (above 1) or faster speech of the same voice: each row's time axis by its own factor.

    As many frames come out as the slowest row needs; the others stand still at their end.
    """
    batch, frames, bands = energies.shape
    longest = math.ceil(frames * max(1.0, float(factor.max())))
    place = torch.arange(longest, device=energies.device) / factor[:, None].to(energies.device)
    place = place.clamp(0, frames - 1)
    below = place.floor().long()
    part = (place - below)[:, :, None]
    above = (below + 1).clamp(max=frames - 1)
    shape = (batch, longest, bands)
    return energies.gather(1, below[:, :, None].expand(shape)) * (1 - part) + (
        energies.gather(1, above[:, :, None].expand(shape)) * part
    )


def masked(energies: torch.Tensor) -> torch.Tensor:
    """Two stretches of bands and two of time replaced by the utterance's mean (SpecAugment).

    Source: Park and others, Interspeech 2019.
    """
    mean = energies.mean((1, 2), keepdim=True)
    for axis, widest in ((2, 6), (1, 12), (2, 6), (1, 12)):
        size = energies.shape[axis]
        width = torch.randint(0, widest, (len(energies), 1), device=energies.device)
        first = (torch.rand(len(energies), 1, device=energies.device) * (size - width)).long()
        place = torch.arange(size, device=energies.device)
        hidden = (place >= first) & (place < first + width)
        energies = torch.where(
            hidden[:, None, :] if axis == 2 else hidden[:, :, None], mean, energies
        )
    return energies
