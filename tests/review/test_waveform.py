from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

import numpy as np
import pytest
import soundfile

from voice.record import clips
from voice.review.waveform import COLUMNS, as_wav, waveform

if TYPE_CHECKING:
    from pathlib import Path


def _picture(folder: Path, samples: np.ndarray[tuple[int], np.dtype[np.int16]]) -> bytes:
    return clips.content([folder], clips.write(folder, 1, samples, 16_000))


def test_the_picture_is_loud_where_the_sound_is(tmp_path: Path) -> None:
    """Silence is drawn flat, and full scale as high as can be."""
    samples = np.concatenate([np.zeros(8_000), np.full(8_000, -32_768)]).astype(np.int16)
    found = waveform(_picture(tmp_path, samples))
    assert found.length_s == 1
    assert found.peaks == (0.0,) * (COLUMNS // 2) + (1.0,) * (COLUMNS // 2)


def test_a_single_click_is_seen(tmp_path: Path) -> None:
    """However long the sound, its loudest sample stands in the picture."""
    samples = np.zeros(160_001, np.int16)
    samples[77_777] = 16_384
    assert max(waveform(_picture(tmp_path, samples)).peaks) == 0.5


@pytest.mark.parametrize("length", [1, 7])
def test_a_sound_of_hardly_any_samples_is_drawn(tmp_path: Path, length: int) -> None:
    """A sound shorter than the picture is wide has a column for each sample."""
    found = waveform(_picture(tmp_path, np.ones(length, np.int16)))
    assert len(found.peaks) == length


def test_what_is_no_sound_is_refused() -> None:
    """A damaged clip is told as one that cannot be read."""
    with pytest.raises(OSError, match="cannot be read as sound"):
        waveform(b"no sound")


def test_a_browser_gets_every_sample_as_it_was_kept(tmp_path: Path) -> None:
    """As WAV it is longer, and nothing else."""
    samples = np.random.default_rng(1).integers(-32_768, 32_767, 4_800, np.int16, endpoint=True)
    played, rate_hz = soundfile.read(BytesIO(as_wav(_picture(tmp_path, samples))), dtype="int16")
    assert rate_hz == 16_000
    assert np.array_equal(played, samples)


def test_what_is_no_sound_is_told() -> None:
    """Neither picture nor sound is made up."""
    with pytest.raises(OSError, match="cannot be read as sound"):
        as_wav(b"fLaC")
