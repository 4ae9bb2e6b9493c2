"""Microphones and speakers by name, through a sound server of the test's own."""

from __future__ import annotations

import itertools
import shutil
import time
from types import SimpleNamespace
from typing import TYPE_CHECKING

import numpy as np
import pytest
import soundfile

from tests.hearing.conftest import Say, acceptor_of, say
from tests.pulse import SoundServer, sound_server
from voice.acoustics.shipped import MODEL_FOLDER
from voice.capture import devices
from voice.capture.devices import Device, DeviceError, Direction, Presence, find
from voice.capture.microphone import Microphone, MicrophoneError
from voice.capture.speaker import Speaker, SpeakerError
from voice.entries.heard import SAMPLE_RATE
from voice.hearing.listener import VoskListener
from voice.hearing.model import AcousticModel
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import SileroVad

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

__all__ = ["say"]

PHRASES = ("pressure fourteen", "pressure forty", "drain clamped", "drain open")


@pytest.fixture
def server(monkeypatch: pytest.MonkeyPatch) -> Iterator[SoundServer]:
    """A sound server that this process finds as its own, and no device chosen yet."""
    with sound_server() as running:
        for name, value in running.environment.items():
            monkeypatch.setenv(name, value)
        for name in ("PULSE_SOURCE", "PULSE_SINK"):  # set by what is tested: taken back afterwards
            monkeypatch.setenv(name, "")
        yield running


def named(*names: str) -> tuple[Device, ...]:
    """Devices with these names."""
    return tuple(Device(name, 0, None, 48_000, usual=False) for name in names)


@pytest.fixture
def three(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine with three microphones, one of whose names is a part of another's."""
    there = named("Headset", "Headset Mono", "Camera")
    monkeypatch.setattr(devices, "_of_portaudio", lambda _: there)


@pytest.mark.usefixtures("three")
@pytest.mark.parametrize(
    ("asked", "found"), [("headset", "Headset"), ("mono", "Headset Mono"), ("CAM", "Camera")]
)
def test_a_part_of_a_name_is_enough_and_a_whole_name_goes_first(asked: str, found: str) -> None:
    """A device is found by what only its name holds, or by its whole name."""
    assert find(Direction.INPUT, asked).name == found


@pytest.mark.usefixtures("three")
def test_a_name_that_fits_nothing_or_several_is_refused_with_the_list() -> None:
    """No device is guessed: what there is, or what fits, is told."""
    with pytest.raises(DeviceError, match='"head" fits more than one microphone: "Headset", "Head'):
        find(Direction.INPUT, "head")
    with pytest.raises(DeviceError, match=r'no speaker "boom"\. There are: "Headset", .*--speaker'):
        find(Direction.OUTPUT, "boom")


def test_a_machine_without_devices_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nothing is plugged in there is no list."""
    monkeypatch.setattr(devices, "_of_portaudio", lambda _: ())
    with pytest.raises(DeviceError, match="There is none"):
        find(Direction.INPUT, "headset")


def test_devices_of_a_system_without_a_sound_server(monkeypatch: pytest.MonkeyPatch) -> None:
    """PortAudio's devices of the usual system count, those of the right direction, each once."""
    told = [
        {"name": "Line", "max_input_channels": 2, "max_output_channels": 0},
        {"name": "Phones", "max_input_channels": 0, "max_output_channels": 2},
        {"name": "Line", "max_input_channels": 2, "max_output_channels": 0},
        {"name": "Other system", "max_input_channels": 2, "max_output_channels": 0},
    ]
    system = {"devices": [0, 1, 2], "default_input_device": 2, "default_output_device": 1}
    sounddevice = SimpleNamespace(
        default=SimpleNamespace(hostapi=0),
        query_hostapis=lambda _: system,
        query_devices=lambda index: told[index] | {"default_samplerate": 44_100.0},
    )
    monkeypatch.setattr(devices, "look_again", lambda _: sounddevice)
    assert devices.devices(Direction.INPUT) == (Device("Line", 0, None, 44_100, usual=False),)
    assert devices.devices(Direction.OUTPUT) == (Device("Phones", 1, None, 44_100, usual=True),)


def test_the_sound_servers_devices_are_listed_by_what_is_plugged_in(server: SoundServer) -> None:
    """A headset is listed by its own name, and two alike are told apart; no speaker is listed as one."""
    server.plug_in_microphone("left", "Headset", 8000)
    server.plug_in_microphone("right", "Headset")
    there = {device.name: device for device in devices.devices(Direction.INPUT)}
    assert set(there) == {
        "Remapped Monitor of Null Output", "Headset (left)", "Headset (right)"
    }  # fmt: skip
    assert there["Remapped Monitor of Null Output"].usual
    assert there["Headset (left)"].rate_hz == 8000
    assert find(Direction.INPUT, "right").served_as == "right"


def sound_of(microphone: Microphone, duration_s: float) -> NDArray[np.int16]:
    """So much of what a microphone gives."""
    blocks = itertools.islice(microphone.blocks(), round(duration_s / 0.032))
    return np.concatenate([block.samples for block in blocks])


def test_the_microphone_that_was_named_is_listened_to(server: SoundServer, tmp_path: Path) -> None:
    """Sound comes from the named microphone and from no other."""
    server.plug_in_microphone("headset", "Crew headset")
    clip = tmp_path / "tone.wav"
    tone = 8000 * np.sin(2 * np.pi * 440 * np.arange(3 * SAMPLE_RATE) / SAMPLE_RATE)
    soundfile.write(clip, tone.astype(np.int16), SAMPLE_RATE)
    player = server.speak_into_microphone(clip, "headset")
    time.sleep(0.5)
    assert np.abs(sound_of(Microphone("crew", time.monotonic), 0.5)).max() > 7000
    assert np.abs(sound_of(Microphone("remapped", time.monotonic), 0.5)).max() < 100
    player.terminate()
    player.wait()


def test_a_microphone_that_is_pulled_out_comes_back_by_itself(server: SoundServer) -> None:
    """It is told within two seconds, missed by its name, and there again when it is plugged in."""
    plugged_in = server.plug_in_microphone("headset", "Crew headset")
    microphone = Microphone("Crew headset", time.monotonic)
    blocks = microphone.blocks()
    last = next(blocks)
    server.pull_out(plugged_in)
    gone_s = time.monotonic()
    with pytest.raises(MicrophoneError, match="The microphone has gone"):
        list(blocks)
    assert time.monotonic() - gone_s < 2
    with pytest.raises(MicrophoneError, match='There is no microphone "Crew headset"'):
        next(microphone.blocks())
    server.plug_in_microphone("headset", "Crew headset")
    assert next(microphone.blocks()).start_s > last.end_s


def _play_until_refused(speaker: Speaker, sound: NDArray[np.int16]) -> None:
    """For ten seconds at most; a machine that is free takes one."""
    until_s = time.monotonic() + 10
    while time.monotonic() < until_s:
        speaker.play(sound, SAMPLE_RATE)
        time.sleep(0.1)


def test_a_speaker_that_is_pulled_out_is_told_and_can_be_opened_again(server: SoundServer) -> None:
    """Nothing is played into nowhere: until it is back each try is refused, by its name."""
    plugged_in = server.plug_in_speaker("headset", "Crew headset")
    silence = np.zeros(1600, dtype=np.int16)
    with Speaker("Crew headset", time.monotonic) as speaker:
        speaker.play(silence, SAMPLE_RATE)
        server.pull_out(plugged_in)
        with pytest.raises(SpeakerError, match="The speaker has gone"):
            _play_until_refused(speaker, silence)
    with pytest.raises(SpeakerError, match='There is no speaker "Crew headset"'):
        Speaker("Crew headset", time.monotonic)
    server.plug_in_speaker("headset", "Crew headset")
    with Speaker("Crew headset", time.monotonic) as speaker:
        assert speaker.play(silence, SAMPLE_RATE) > time.monotonic()


def test_a_device_is_missed_that_went_before_we_were_told_of_anything(
    server: SoundServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a busy machine it takes a second until the server tells of what happens; what went by then is found."""
    slow = tmp_path / "pactl"
    slow.write_text(
        f'#!/bin/sh\n[ "$1" != subscribe ] || sleep 1\nexec {shutil.which("pactl")} "$@"\n'
    )
    slow.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path), prepend=":")
    plugged_in = server.plug_in_speaker("headset", "Crew headset")
    with Presence(Direction.OUTPUT, "headset") as presence:
        server.pull_out(plugged_in)
        until_s = time.monotonic() + 10
        while not presence.gone and time.monotonic() < until_s:
            time.sleep(0.1)
        assert presence.gone


@pytest.mark.parametrize("rate_hz", [8000, 44_100])
def test_words_are_heard_at_other_rates(
    server: SoundServer, say: Say, tmp_path: Path, rate_hz: int
) -> None:
    """A headset that gives telephone sound, or a sound card's usual rate, is understood."""
    server.plug_in_microphone("headset", "Crew headset", rate_hz)
    clip = tmp_path / "clip.wav"
    pause = np.zeros(SAMPLE_RATE, np.int16)
    # twice: on a busy machine a word may be lost on its way through the sound server
    soundfile.write(clip, np.concatenate([pause, say(PHRASES[0])] * 2 + [pause]), SAMPLE_RATE)
    listener = VoskListener(AcousticModel.open(MODEL_FOLDER), acceptor_of(*PHRASES))
    player = server.speak_into_microphone(clip, "headset")
    segmenter = Segmenter(SileroVad())
    blocks = itertools.islice(Microphone("crew", time.monotonic).blocks(), 900)
    segments = (segment for block in blocks for segment in segmenter.feed(block))
    heard = (listener.hear(segment).alternatives[0].text for segment in segments)
    assert PHRASES[0] in heard
    player.terminate()
    player.wait()


def test_a_sound_server_that_is_started_later_is_there(monkeypatch: pytest.MonkeyPatch) -> None:
    """PortAudio had looked for devices before; what is open when it looks again stays open."""
    monkeypatch.setenv("PULSE_SERVER", "unix:/nowhere")
    assert devices.devices(Direction.OUTPUT) == ()
    with sound_server() as server:
        for name, value in server.environment.items():
            monkeypatch.setenv(name, value)
        assert find(Direction.OUTPUT, "pulse").name == "pulse"
        with Speaker(None, time.monotonic) as speaker:
            assert devices.devices(Direction.INPUT)
            speaker.play(np.zeros(800, dtype=np.int16), SAMPLE_RATE)
