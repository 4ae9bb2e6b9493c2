"""Short tones that tell themselves apart by number and direction, without colour or words.

All lie between 600 and 1400 Hz: above the rotor and the engine, below where headsets end.
"""

from __future__ import annotations

import numpy as np

from voice.speech.waveform import PEAK, Waveform

RATE_HZ = 22_050
_NOTE_S = 0.09
_GAP_S = 0.03
_FADE_S = 0.008  # without it, a note begins and ends with a click


def notes(*pitches_hz: float) -> Waveform:
    """One note after the other."""
    gap = np.zeros(round(_GAP_S * RATE_HZ))
    parts = [part for pitch_hz in pitches_hz for part in (_note(pitch_hz), gap)][:-1]
    return Waveform(np.rint(np.concatenate(parts) * 32767).astype(np.int16), RATE_HZ)


def _note(pitch_hz: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    at_s = np.arange(round(_NOTE_S * RATE_HZ)) / RATE_HZ
    swell = np.clip(np.minimum(at_s, _NOTE_S - at_s) / _FADE_S, 0, 1)
    return PEAK * swell * np.sin(2 * np.pi * pitch_hz * at_s)


RISING = notes(660, 990)
FALLING = notes(990, 660)
SINGLE = notes(1320)
THREE = notes(880, 880, 880)
