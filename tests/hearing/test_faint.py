"""How faint sound is made louder."""

from __future__ import annotations

import numpy as np
import pytest

from voice.entries.heard import SAMPLE_RATE, Segment
from voice.hearing.faint import MOST_DB, RAISED_TO_DBFS, REMEMBERED, Raiser


def segment(peak_dbfs: float, start_s: float = 0.0) -> Segment:
    """Half a second of sound with its loudest sample there."""
    peak = 32768 * 10 ** (peak_dbfs / 20)
    samples = np.rint(peak * np.sin(np.arange(SAMPLE_RATE // 2) / 5)).astype(np.int16)
    return Segment(start_s, samples, start_s + 0.5)


def peak_dbfs(sound: Segment) -> float:
    """Level of the loudest sample."""
    return float(20 * np.log10(np.abs(sound.samples.astype(int)).max() / 32768))


@pytest.mark.parametrize("dbfs", [0.0, -6.0, RAISED_TO_DBFS + 0.5])
def test_ordinary_sound_is_heard_as_it_is(dbfs: float) -> None:
    """What is loud enough is the same object."""
    sound = segment(dbfs)
    assert Raiser().raised(sound) is sound


@pytest.mark.parametrize("dbfs", [-30.0, -45.0])
def test_faint_sound_is_raised_as_a_whole(dbfs: float) -> None:
    """Every sample grows by the same factor, up to the level that is heard well."""
    sound = segment(dbfs)
    raised = Raiser().raised(sound)
    assert peak_dbfs(raised) == pytest.approx(RAISED_TO_DBFS, abs=0.2)
    factor = 10 ** ((RAISED_TO_DBFS - peak_dbfs(sound)) / 20)
    assert np.abs(raised.samples - sound.samples * factor).max() <= 0.5
    assert (raised.start_s, raised.speech_end_s) == (sound.start_s, sound.speech_end_s)


def test_hiss_is_not_raised_to_speech() -> None:
    """The factor is bounded, and silence stays silence."""
    assert peak_dbfs(Raiser().raised(segment(-66.0))) == pytest.approx(-66 + MOST_DB, abs=2)
    silence = Segment(0.0, np.zeros(SAMPLE_RATE, np.int16), 1.0)
    assert not Raiser().raised(silence).samples.any()


def test_somebody_far_off_stays_faint_beside_the_nurse() -> None:
    """A faint voice among ordinary ones is not raised; after ordinary ones are long past, it is."""
    raiser = Raiser()
    raiser.raised(segment(-10.0))
    for number in range(1, REMEMBERED):
        far = segment(-45.0, float(number))
        assert raiser.raised(far) is far
    assert peak_dbfs(raiser.raised(segment(-45.0, 99.0))) == pytest.approx(RAISED_TO_DBFS, abs=0.2)


def test_an_utterance_that_goes_on_is_one() -> None:
    """However often it is heard while it grows, it does not push the others out."""
    raiser = Raiser()
    raiser.raised(segment(-10.0))
    far = segment(-45.0, 1.0)
    assert all(raiser.raised(far) is far for _ in range(2 * REMEMBERED))
