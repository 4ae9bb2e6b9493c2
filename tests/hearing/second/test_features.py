"""What Whisper's encoder is given."""

import numpy as np
import pytest

from voice.hearing.second.features import BANDS, log_mel


def rising_tone() -> np.ndarray:
    """2 s of a tone that rises from 200 Hz to 3.8 kHz, in some noise."""
    time_s = np.arange(32_000) / 16_000
    tone = 8000 * np.sin(2 * np.pi * (200 + 900 * time_s) * time_s)
    return (tone + np.random.default_rng(3).normal(0, 300, 32_000)).astype(np.int16)


def test_features_are_those_that_whisper_was_made_for() -> None:
    """They equal what faster-whisper 1.2.1's FeatureExtractor made of the same sound, with 1 s of silence."""
    features = log_mel(rising_tone(), 3.0)
    assert features.shape == (300, BANDS)
    early = [-0.1324, 0.1896, 0.0917, 0.8886, 0.186, 0.1649, -0.0038, 0.1444]
    late = [0.1497, 0.013, 0.0023, 0.2553, 0.0762, 0.1059, 1.0833, 0.1243]
    assert features[50, ::10] == pytest.approx(early, abs=1e-3)
    assert features[190, ::10] == pytest.approx(late, abs=1e-3)
    assert features.mean() == pytest.approx(-0.13404, abs=1e-4)


def test_sound_that_is_too_long_is_cut_off() -> None:
    """There are as many frames as were asked for, whatever the length of the sound."""
    assert np.allclose(log_mel(rising_tone(), 1.0)[:95], log_mel(rising_tone()[:16_100], 1.0)[:95])
    assert log_mel(np.zeros(0, np.int16), 1.0).shape == (100, BANDS)
