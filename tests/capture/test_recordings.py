"""Recordings in place of the microphone, good and bad."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np
import pytest
import soundfile

from voice.capture.recordings import (
    LEAD_S,
    LOST_S,
    TAIL_S,
    Cue,
    Pace,
    RecordingError,
    Recordings,
    read_recording,
)
from voice.entries.heard import SAMPLE_RATE

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from voice.entries.heard import Block


def tone(rate: int, duration_s: float = 1.0) -> NDArray[np.float64]:
    """Half-loud sound of 440 Hz."""
    return 0.5 * np.sin(2 * np.pi * 440 * np.arange(round(rate * duration_s)) / rate)


@pytest.fixture
def second(tmp_path: Path) -> Path:
    """A recording of one second."""
    file = tmp_path / "second.wav"
    soundfile.write(file, tone(SAMPLE_RATE), SAMPLE_RATE)
    return file


def loud(blocks: list[Block]) -> tuple[float, float]:
    """When the sound among ``blocks`` begins and ends, in s."""
    heard = [block for block in blocks if np.abs(block.samples).max() > 1000]
    return heard[0].start_s, heard[-1].end_s


@pytest.mark.parametrize("rate", [8_000, 16_000, 22_050, 44_100, 48_000])
@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("ending", ["wav", "flac", "ogg", "mp3"])
def test_any_usual_recording_becomes_mono_at_16_khz(
    tmp_path: Path, rate: int, channels: int, ending: str
) -> None:
    """Length, pitch and level survive each sample rate, number of channels and format."""
    file = tmp_path / f"tone.{ending}"
    soundfile.write(file, np.column_stack([tone(rate)] * channels), rate)
    samples = np.concatenate(list(read_recording(file)))
    assert len(samples) == pytest.approx(SAMPLE_RATE, rel=0.1 if ending == "mp3" else 1e-3)
    middle = samples[len(samples) // 4 : -len(samples) // 4].astype(np.float64)
    spectrum = np.abs(np.fft.rfft(middle * np.hanning(len(middle))))
    assert np.argmax(spectrum) * SAMPLE_RATE / len(middle) == pytest.approx(440, abs=3)
    assert np.sqrt(np.mean(middle**2)) == pytest.approx(0.5 * 32768 / np.sqrt(2), rel=0.03)


def test_a_recording_longer_than_memory_would_bear_comes_in_blocks(tmp_path: Path) -> None:
    """Blocks are short whatever the length of the file."""
    file = tmp_path / "long.wav"
    soundfile.write(file, np.zeros(60 * 48_000, dtype=np.int16), 48_000)
    assert max(len(samples) for samples in read_recording(file)) <= 512


def test_silence_stands_around_each_recording(second: Path) -> None:
    """A recording begins LEAD_S after the source and ends TAIL_S before it, without a jump."""
    blocks = list(Recordings([second]).blocks())
    begin, end = loud(blocks)
    assert begin == pytest.approx(LEAD_S, abs=0.04)
    assert blocks[-1].end_s - end == pytest.approx(TAIL_S, abs=0.04)
    assert all(b.start_s == pytest.approx(a.end_s) for a, b in itertools.pairwise(blocks))


def test_a_cue_is_a_jump_in_time(second: Path) -> None:
    """The second recording starts at its cue, and nothing fills the time before it."""
    blocks = list(Recordings([Cue(second), Cue(second, start_s=600)]).blocks())
    begin, _ = loud([block for block in blocks if block.start_s > 10])
    assert begin == pytest.approx(600 + LEAD_S, abs=0.04)
    assert len(blocks) < 150


def test_a_late_cue_follows_at_once(second: Path) -> None:
    """A cue that the recording before has overrun starts when that has ended."""
    blocks = list(Recordings([Cue(second), Cue(second, start_s=0.5)]).blocks())
    assert all(b.start_s == pytest.approx(a.end_s) for a, b in itertools.pairwise(blocks))


def test_a_recording_waits_until_the_program_has_spoken(second: Path) -> None:
    """The next recording starts only when the program's answer is over."""
    blocks = Recordings([second, second], speaking_until=lambda: 9.0).blocks()
    begin, _ = loud(list(itertools.islice(blocks, 40)))
    assert begin == pytest.approx(9 + LEAD_S, abs=0.04)


def test_a_recording_waits_when_the_jump_moves_the_program_to_speak(second: Path) -> None:
    """Where the program speaks only once it has seen the time pass, the recording waits still."""
    until = [0.0]
    blocks: list[Block] = []
    for block in Recordings([Cue(second, start_s=60)], speaking_until=lambda: until[0]).blocks():
        if not blocks:
            until[0] = 64.0  # a time-out at this moment
        blocks.append(block)
    begin, _ = loud(blocks)
    assert begin == pytest.approx(64 + LEAD_S, abs=0.04)


def test_in_real_time_only_jumps_are_skipped(second: Path) -> None:
    """Sound and the program's speech take their time; the way to a cue takes none."""
    now = [100.0]

    def sleep(duration_s: float) -> None:
        now[0] += duration_s

    source = Recordings(
        [Cue(second), Cue(second, start_s=600)],
        pace=Pace.REAL,
        speaking_until=lambda: 5.0,
        clock=lambda: now[0],
        sleep=sleep,
    )
    blocks = list(source.blocks())
    assert blocks[-1].end_s > 600
    sound_s = 2 * (LEAD_S + 1 + TAIL_S)
    assert now[0] - 100 == pytest.approx(5 + sound_s, abs=0.1)


def test_the_rest_goes_on_after_a_bad_recording(second: Path, tmp_path: Path) -> None:
    """A file that is not there is told, and asking again goes on with the next."""
    source = Recordings([second, tmp_path / "none.wav", second])
    heard = []
    with pytest.raises(RecordingError, match=r"no recording .*none\.wav"):
        heard += list(source.blocks())
    rest = list(source.blocks())
    assert loud(rest)[1] - loud(rest)[0] == pytest.approx(1, abs=0.05)
    assert source.playing == second
    assert list(source.blocks()) == []


def _empty(file: Path) -> None:
    file.touch()


def _text(file: Path) -> None:
    file.write_text("pressure fourteen\n" * 100)


def _no_samples(file: Path) -> None:
    soundfile.write(file, np.zeros(0, dtype=np.int16), SAMPLE_RATE, format="WAV")


def _low_rate(file: Path) -> None:
    soundfile.write(file, tone(4000), 4000, format="WAV")


def _half_of(form: str) -> object:
    def write(file: Path) -> None:
        soundfile.write(file, tone(SAMPLE_RATE, 4), SAMPLE_RATE, format=form)
        whole = file.read_bytes()
        file.write_bytes(whole[: len(whole) // 2])

    return write


@pytest.mark.parametrize(
    ("spoil", "sentence"),
    [
        (_empty, "is not a recording that can be read"),
        (_text, "is not a recording that can be read"),
        (_no_samples, "holds no sound"),
        (_low_rate, "4000 samples a second, too few"),
        (_half_of("WAV"), "it was cut off"),
        (_half_of("FLAC"), "damaged"),
        (_half_of("MP3"), "it was cut off"),
    ],
)
def test_a_bad_recording_makes_a_sentence(tmp_path: Path, spoil: object, sentence: str) -> None:
    """What is wrong is told with the file's name."""
    file = tmp_path / "bad.wav"
    assert callable(spoil)
    spoil(file)
    with pytest.raises(RecordingError, match=sentence) as told:
        list(read_recording(file))
    assert str(file) in str(told.value)


def test_a_recording_that_breaks_off_leaves_a_jump(tmp_path: Path, second: Path) -> None:
    """Half a phrase is parted from what follows, so that it does not pass for a whole one."""
    file = tmp_path / "half.flac"
    soundfile.write(file, tone(SAMPLE_RATE, 4), SAMPLE_RATE)
    file.write_bytes(file.read_bytes()[: file.stat().st_size * 3 // 4])
    source = Recordings([file, second])
    before: list[Block] = []
    with pytest.raises(RecordingError):
        before.extend(source.blocks())
    after = list(source.blocks())
    assert after[0].start_s >= LOST_S


def test_a_wav_file_written_into_a_pipe_is_no_cut_one(tmp_path: Path) -> None:
    """The greatest length in a WAV file's head stands for one that was not known."""
    file = tmp_path / "piped.wav"
    soundfile.write(file, tone(SAMPLE_RATE), SAMPLE_RATE)
    data = bytearray(file.read_bytes())
    data[4:8] = (0x7FFFF024).to_bytes(4, "little")
    data[40:44] = (0x7FFFF000).to_bytes(4, "little")
    file.write_bytes(data)
    assert sum(map(len, read_recording(file))) == pytest.approx(SAMPLE_RATE, abs=32)
