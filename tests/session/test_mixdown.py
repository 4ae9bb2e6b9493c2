"""The recording of how a leg sounded."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import soundfile

from voice.entries.heard import SAMPLE_RATE, Block
from voice.session.mixdown import LONGEST_GAP_S, Mixdown, MixdownError
from voice.speech.waveform import Waveform

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray


def block(start_s: float, level: int, duration_s: float) -> Block:
    """Sound of one level."""
    return Block(start_s, np.full(round(duration_s * SAMPLE_RATE), level, dtype=np.int16))


def words(level: int, duration_s: float) -> Waveform:
    """Something spoken, of one level."""
    return Waveform(np.full(round(duration_s * SAMPLE_RATE), level, dtype=np.int16), SAMPLE_RATE)


def levels(path: Path, *at_s: float) -> list[int]:
    """Level of a recording at these times."""
    samples, _ = soundfile.read(path, dtype="int16")
    return [int(samples[round(s * SAMPLE_RATE)]) for s in at_s]


def duration_s(path: Path) -> float:
    """Length of a recording, in s."""
    return float(soundfile.info(path).duration)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A file that is to hold a mixdown."""
    return tmp_path / "leg.wav"


def test_words_are_mixed_into_what_comes_in(path: Path) -> None:
    """What is spoken while sound comes in is added to it, in its place."""
    mixdown = Mixdown(path)
    mixdown.heard(block(0, 1000, 1))
    mixdown.spoken(1.5, words(300, 1))
    mixdown.heard(block(1, 1000, 1))
    mixdown.heard(block(2, 1000, 1))
    mixdown.close()
    assert duration_s(path) == pytest.approx(3)
    assert levels(path, 1.4, 1.6, 2.4, 2.6) == [1000, 1300, 1300, 1000]


def test_words_between_recordings_are_in_their_place(path: Path) -> None:
    """What is spoken where no sound comes in stands between, with short silences around it."""
    mixdown = Mixdown(path)
    mixdown.heard(block(0, 1000, 1))
    mixdown.spoken(1.2, words(300, 1))
    mixdown.heard(block(60, 2000, 1))
    mixdown.close()
    start_s = 1.2 + 1 + LONGEST_GAP_S
    assert duration_s(path) == pytest.approx(start_s + 1)
    assert levels(path, 0.9, 1.1, 1.3, 2.1, 2.3, start_s - 0.1, start_s + 0.1) == [
        1000, 0, 300, 300, 0, 0, 2000,
    ]  # fmt: skip


def test_long_silence_is_shortened(path: Path) -> None:
    """Where nothing sounds for longer, so much silence is left as tells the parts apart."""
    mixdown = Mixdown(path)
    for start_s in (0, 600, 1200):
        mixdown.heard(block(start_s, 1000, 1))
    mixdown.close()
    assert duration_s(path) == pytest.approx(3 + 2 * LONGEST_GAP_S)


def test_last_words_are_written(path: Path) -> None:
    """What is spoken after the last sound came in is in the recording, too."""
    mixdown = Mixdown(path)
    mixdown.heard(block(0, 1000, 1))
    mixdown.spoken(1, words(300, 2))
    mixdown.close()
    assert duration_s(path) == pytest.approx(3)
    assert levels(path, 2.9) == [300]


def test_loud_sound_is_not_folded_over(path: Path) -> None:
    """Sound and words that are too loud together are cut at full scale."""
    mixdown = Mixdown(path)
    mixdown.spoken(0, words(30_000, 1))
    mixdown.heard(block(0, 30_000, 1))
    mixdown.close()
    assert levels(path, 0.5) == [32_767]


def test_words_are_brought_to_the_rate_of_the_recording(path: Path) -> None:
    """What is spoken at another rate keeps its length."""
    mixdown = Mixdown(path)
    mixdown.spoken(0, Waveform(np.full(22_050, 300, dtype=np.int16), 22_050))
    mixdown.close()
    assert duration_s(path) == pytest.approx(1, abs=0.001)


def test_file_that_cannot_be_written(tmp_path: Path) -> None:
    """A file in a folder that is not there is refused with a sentence."""
    with pytest.raises(MixdownError, match="cannot be written"):
        Mixdown(tmp_path / "nowhere" / "leg.wav")


def test_everything_that_sounded_is_there(path: Path) -> None:
    """No sample of sound is lost or doubled, wherever words fall."""
    rng = np.random.default_rng(1)
    mixdown = Mixdown(path)
    total, now_s = 0, 0.0
    for _ in range(50):
        length = int(rng.integers(1, 4000))
        sound: NDArray[np.int16] = np.ones(length, dtype=np.int16)
        if rng.random() < 0.3:
            mixdown.spoken(now_s + rng.random(), Waveform(sound, SAMPLE_RATE))
        else:
            now_s += rng.choice([0.0, 0.0, 3.0])
            mixdown.heard(Block(now_s, sound))
            now_s += length / SAMPLE_RATE
        total += length
    mixdown.close()
    samples, _ = soundfile.read(path, dtype="int16")
    assert samples.sum() == total
