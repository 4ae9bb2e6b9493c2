"""The tones tell themselves apart."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from voice.speech.tones import FALLING, RISING, SINGLE, THREE
from voice.speech.waveform import PEAK, Waveform


def pitches_hz(tone: Waveform) -> list[int]:
    """Pitch of each note, to the nearest 10 Hz, from its spectrum."""
    loud = np.abs(tone.samples) > 0
    edges = np.flatnonzero(np.diff(np.convolve(loud, np.ones(200), "same") > 0))
    bounds = [0, *edges, len(loud)]
    found = []
    for first, last in pairwise(bounds):
        part = tone.samples[first:last]
        if np.abs(part).max() > 1000:
            spectrum = np.abs(np.fft.rfft(part, 220_500))
            found.append(round(spectrum.argmax() * tone.rate_hz / 220_500 / 10) * 10)
    return found


@pytest.mark.parametrize(
    ("tone", "notes"),
    [
        (RISING, [660, 990]),
        (FALLING, [990, 660]),
        (SINGLE, [1320]),
        (THREE, [880, 880, 880]),
    ],
)
def test_tones_are_told_apart_by_their_notes(tone: Waveform, notes: list[int]) -> None:
    """Each tone has its own number of notes or its own direction."""
    assert pitches_hz(tone) == notes


@pytest.mark.parametrize("tone", [RISING, FALLING, SINGLE, THREE])
def test_tones_are_short_and_do_not_click(tone: Waveform) -> None:
    """A tone takes less than half a second, is not clipped, and begins and ends softly."""
    assert tone.duration_s < 0.5
    assert np.abs(tone.samples).max() <= PEAK * 32767 + 1
    assert np.abs(tone.samples[[0, -1]]).max() < 1000
