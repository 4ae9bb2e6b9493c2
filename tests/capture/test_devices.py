"""A real microphone and a real speaker, through a sound server of the test's own."""

from __future__ import annotations

import itertools
import sys
import time
from typing import TYPE_CHECKING

import numpy as np
import pytest
import soundfile

from tests.hearing.conftest import Say, acceptor_of, say
from tests.pulse import DEVICE, SoundServer
from voice.acoustics.shipped import MODEL_FOLDER
from voice.capture.microphone import Microphone, MicrophoneError
from voice.capture.speaker import Speaker, SpeakerError
from voice.entries.heard import SAMPLE_RATE
from voice.hearing.listener import VoskListener
from voice.hearing.model import AcousticModel
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import SileroVad

if TYPE_CHECKING:
    from pathlib import Path

    from voice.entries.heard import Segment

__all__ = ["say"]


def first_segment(microphone: Microphone, within_s: float) -> Segment:
    """The first segment that the microphone hears."""
    segmenter = Segmenter(SileroVad())
    for block in microphone.blocks():
        for segment in segmenter.feed(block):
            return segment
        if block.start_s > within_s:
            break
    raise AssertionError(f"nothing was heard within {within_s} s")


def test_words_come_from_the_microphone(server: SoundServer, say: Say, tmp_path: Path) -> None:
    """What is spoken into the microphone is heard, at the time at which it was spoken."""
    clip = tmp_path / "clip.wav"
    spoken = np.concatenate((np.zeros(16_000, np.int16), say("pressure fourteen")))
    soundfile.write(clip, spoken, SAMPLE_RATE)
    listener = VoskListener(
        AcousticModel.open(MODEL_FOLDER), acceptor_of("pressure fourteen", "pressure forty")
    )
    microphone = Microphone(DEVICE, time.monotonic)
    began = time.monotonic()
    player = server.speak_into_microphone(clip)
    segment = first_segment(microphone, within_s=30)
    player.wait()
    assert listener.hear(segment).alternatives[0].text == "pressure fourteen"
    assert not segment.cut
    assert 0.5 < segment.start_s < time.monotonic() - began


def test_a_microphone_that_goes_is_told_and_can_be_opened_again(server: SoundServer) -> None:
    """Two seconds after the device has gone at the latest a sentence says so."""
    microphone = Microphone(DEVICE, time.monotonic)
    blocks = microphone.blocks()
    for block in itertools.islice(blocks, 20):
        assert len(block.samples) == 512
    server.unplug()
    gone_s = time.monotonic()
    with pytest.raises(MicrophoneError, match="The microphone has gone"):
        list(blocks)
    assert time.monotonic() - gone_s < 2
    with pytest.raises(MicrophoneError, match="There is no microphone"):
        next(microphone.blocks())


def test_time_goes_on_when_the_microphone_is_opened_again(server: SoundServer) -> None:
    """After a break block times tell the true time that has passed."""
    assert server.process.poll() is None
    microphone = Microphone(DEVICE, time.monotonic)
    before = next(microphone.blocks())
    time.sleep(0.5)
    after = next(microphone.blocks())
    assert after.start_s - before.end_s > 0.4


def test_a_sound_server_keeps_what_the_program_is_too_busy_to_take(server: SoundServer) -> None:
    """A device asked for in small parts gives whole blocks that follow on each other, whatever holds the program up."""
    assert server.process.poll() is None
    blocks = Microphone("mic", time.monotonic).blocks()
    before = next(blocks)
    for number, block in enumerate(itertools.islice(blocks, 40)):
        assert len(block.samples) == 512
        assert block.lost_s == 0.0
        assert block.start_s == pytest.approx(before.end_s, abs=0.02)
        before = block
        if number == 10:
            _hold_everything_up(0.3)


def _hold_everything_up(for_s: float) -> None:
    """No other thread of the program runs in that time."""
    switched_s = sys.getswitchinterval()
    sys.setswitchinterval(10.0)
    until_s = time.monotonic() + for_s
    while time.monotonic() < until_s:
        pass
    sys.setswitchinterval(switched_s)


@pytest.mark.parametrize("device", ["no such device", 999])
def test_no_microphone_makes_a_sentence(server: SoundServer, device: str | int) -> None:
    """A microphone that is not there is named."""
    assert server.process.poll() is None
    with pytest.raises(MicrophoneError, match=f'There is no microphone "{device}"'):
        next(Microphone(device, time.monotonic).blocks())


def test_the_speaker_plays_whole_sounds(server: SoundServer, tmp_path: Path) -> None:
    """A sound comes out whole, at its pitch and length, and ends when the speaker said it would."""
    record = tmp_path / "heard.wav"
    recorder = server.record_speaker(record)
    time.sleep(0.5)
    with Speaker(DEVICE, time.monotonic) as speaker:
        rate = 22_050
        tone = np.round(12_000 * np.sin(2 * np.pi * 440 * np.arange(rate) / rate))
        ends_s = speaker.play(tone.astype(np.int16), rate)
        assert ends_s - time.monotonic() == pytest.approx(1, abs=0.3)
        time.sleep(max(0.0, ends_s + 0.3 - time.monotonic()))
    recorder.terminate()
    recorder.wait()
    heard, _ = soundfile.read(record, dtype="int16")
    (loud,) = np.nonzero(np.abs(heard) > 2000)
    sounding = heard[loud[0] : loud[-1]].astype(np.float64)
    assert len(sounding) / SAMPLE_RATE == pytest.approx(1, abs=0.05)
    spectrum = np.abs(np.fft.rfft(sounding * np.hanning(len(sounding))))
    assert np.argmax(spectrum) * SAMPLE_RATE / len(sounding) == pytest.approx(440, abs=3)


def test_two_sounds_play_after_each_other_and_stop_ends_them(server: SoundServer) -> None:
    """The end of the second lies after the first; after stop() the next starts at once."""
    assert server.process.poll() is None
    second = np.zeros(SAMPLE_RATE, dtype=np.int16)
    with Speaker(DEVICE, time.monotonic) as speaker:
        speaker.play(second, SAMPLE_RATE)
        assert speaker.play(second, SAMPLE_RATE) - time.monotonic() > 1.5
        speaker.stop()
        assert speaker.play(second, SAMPLE_RATE) - time.monotonic() < 1.5


def test_the_speaker_knows_what_it_plays(server: SoundServer) -> None:
    """What is played can be had again as 16 kHz from its place on; what was cut off cannot."""
    assert server.process.poll() is None
    tone = np.full(48_000, 9000, dtype=np.int16)
    with Speaker(DEVICE, time.monotonic) as speaker:
        while speaker.place_of(time.monotonic()) is None:
            time.sleep(0.01)
        before = speaker.place_of(time.monotonic())
        assert before is not None
        speaker.play(tone, 48_000)
        ahead = speaker.played(before, 2 * SAMPLE_RATE)
        (loud,) = np.nonzero(np.abs(ahead) > 4000)
        assert loud[0] < 0.2 * SAMPLE_RATE
        assert loud[-1] - loud[0] == pytest.approx(SAMPLE_RATE, abs=200)
        assert speaker.stop() - time.monotonic() < 0.25
        left = speaker.played(before, 2 * SAMPLE_RATE)
        assert np.count_nonzero(left) < 0.5 * SAMPLE_RATE


def test_a_speaker_that_goes_is_told(server: SoundServer) -> None:
    """Playing to a device that has gone makes a sentence, not silence."""
    with Speaker(DEVICE, time.monotonic) as speaker:
        server.unplug()
        time.sleep(1.2)
        with pytest.raises(SpeakerError, match="The speaker has gone"):
            speaker.play(np.zeros(10, dtype=np.int16), SAMPLE_RATE)


def test_no_speaker_makes_a_sentence() -> None:
    """A speaker that is not there is named."""
    with pytest.raises(SpeakerError, match='There is no speaker "no such device"'):
        Speaker("no such device", time.monotonic)
