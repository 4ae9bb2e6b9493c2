"""The microphone against a PortAudio that misbehaves."""

from __future__ import annotations

import itertools
import sys
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from voice.capture.microphone import Microphone, MicrophoneError
from voice.capture.speaker import Speaker, SpeakerError

if TYPE_CHECKING:
    from collections.abc import Callable

    from voice.entries.heard import Block


class PortAudioError(Exception):
    """As raised by sounddevice."""


class FakeStream:
    """Hands its blocks over as soon as it is started."""

    def __init__(
        self, callback: Callable[..., None], blocksize: int, count: int, channels: int
    ) -> None:
        self._callback = callback
        self._shape = blocksize, channels
        self._count = count

    def start(self) -> None:
        """All of its sound at once."""
        for number in range(self._count):
            sound = np.full(self._shape, number / 100, dtype=np.float32)
            sound[:, 1:] = 0
            self._callback(sound, len(sound), None, None)
            sound[:] = 0  # PortAudio uses the buffer again

    def close(self) -> None:
        """Nothing is left to be done."""


def fake_sounddevice(rates: tuple[int, ...], count: int = 3, only_channels: int = 1) -> Any:
    """A sounddevice whose only microphone can do ``rates`` and a number of channels."""

    def open_stream(
        samplerate: int, blocksize: int, callback: Any, channels: int, **_: object
    ) -> FakeStream:
        if samplerate not in rates or channels != only_channels:
            raise PortAudioError
        return FakeStream(callback, blocksize, count, channels)

    return SimpleNamespace(
        PortAudioError=PortAudioError,
        default=SimpleNamespace(hostapi=0),
        query_hostapis=lambda _: {"devices": []},
        query_devices=lambda *_: {"default_samplerate": 48_000.0, "max_input_channels": 4},
        _terminate=lambda: None,
        _initialize=lambda: None,
        InputStream=open_stream,
        OutputStream=open_stream,
    )


def ticking() -> Callable[[], float]:
    """A clock that moves on by one block at each look."""
    now = [0.0]

    def clock() -> float:
        now[0] += 0.032
        return now[0]

    return clock


@pytest.mark.parametrize("rate", [8_000, 16_000, 44_100, 48_000])
def test_a_device_is_taken_at_its_own_rate_where_it_must(
    monkeypatch: pytest.MonkeyPatch, rate: int
) -> None:
    """A microphone that refuses 16 kHz, or even its own rate, is opened at another, and its sound has no seams."""
    monkeypatch.setitem(sys.modules, "sounddevice", fake_sounddevice((rate,), count=60))
    got: list[Block] = []
    for block in Microphone(None, ticking()).blocks():
        got.append(block)
        if sum(len(one.samples) for one in got) >= 40 * 512:
            break
    sound = np.concatenate([block.samples for block in got])
    for number in (10, 30):
        middle = number * 512 + 256
        assert sound[middle] == pytest.approx(number / 100 * 32768, abs=400)
    for before, after in itertools.pairwise(got):
        assert after.start_s == pytest.approx(before.end_s, abs=0.002)


@pytest.mark.parametrize("channels", [2, 4])
def test_several_channels_become_one(monkeypatch: pytest.MonkeyPatch, channels: int) -> None:
    """A device that gives no single channel is opened with all, and none is left out."""
    fake = fake_sounddevice((16_000,), only_channels=channels)
    monkeypatch.setitem(sys.modules, "sounddevice", fake)
    blocks = Microphone(None, ticking()).blocks()
    assert [int(next(blocks).samples[0]) for _ in range(3)] == [
        pytest.approx(number * 327.68 / channels, abs=1) for number in range(3)
    ]


def test_each_block_keeps_its_sound(monkeypatch: pytest.MonkeyPatch) -> None:
    """Blocks do not share PortAudio's buffer, which is used again."""
    monkeypatch.setitem(sys.modules, "sounddevice", fake_sounddevice((16_000,)))
    blocks = Microphone(None, ticking()).blocks()
    assert [int(next(blocks).samples[0]) for _ in range(3)] == [0, 328, 655]


def test_a_microphone_that_never_gives_sound_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A device that opens but stays silent ends in a sentence."""
    monkeypatch.setattr("voice.capture.microphone.OPENING_S", 0.05)
    monkeypatch.setitem(sys.modules, "sounddevice", fake_sounddevice((16_000,), count=0))
    with pytest.raises(MicrophoneError, match="The microphone has gone"):
        next(Microphone(None, ticking()).blocks())


def test_a_refused_microphone_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A device that cannot be opened at any rate ends in a sentence that says what to do."""
    monkeypatch.setitem(sys.modules, "sounddevice", fake_sounddevice(()))
    with pytest.raises(MicrophoneError, match="in use by another program"):
        next(Microphone(None, ticking()).blocks())


def test_a_missing_portaudio_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the system's library the sentence says which package to install."""

    class Refusing:
        """An importer that fails as sounddevice does."""

        def find_spec(self, name: str, *_: object) -> None:
            """Fail for sounddevice alone."""
            if name == "sounddevice":
                raise OSError("PortAudio library not found")

    monkeypatch.delitem(sys.modules, "sounddevice", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Refusing(), *sys.meta_path])
    with pytest.raises(MicrophoneError, match="libportaudio2"):
        next(Microphone(None, ticking()).blocks())
    with pytest.raises(SpeakerError, match="libportaudio2"):
        Speaker(None, ticking())
