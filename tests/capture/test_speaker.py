"""How much sound lies in the speaker, against a PortAudio that asks for sound when it is told to."""

from __future__ import annotations

import sys
from types import SimpleNamespace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from voice.capture.speaker import DEEP_S, PROVEN_S, SHALLOW_S, Speaker

if TYPE_CHECKING:
    from collections.abc import Callable

RATE = 48_000
ASKS_EACH_S = 0.025


class Device:
    """The machine's clock and its speaker."""

    def __init__(self) -> None:
        self.now_s = 0.0
        self.opened: list[SimpleNamespace] = []
        self.module = SimpleNamespace(
            PortAudioError=OSError,
            query_devices=lambda *_: {"default_samplerate": float(RATE)},
            OutputStream=self._open,
        )

    def _open(self, latency: float, callback: Callable[..., None], **_: object) -> SimpleNamespace:
        stream = SimpleNamespace(
            latency=latency, callback=callback, active=True, start=lambda: None, close=lambda: None
        )
        self.opened.append(stream)
        return stream

    def runs(self, for_s: float) -> None:
        """It asks for sound, each time when it is due."""
        for _ in range(round(for_s / ASKS_EACH_S)):
            self.asks_after(ASKS_EACH_S)

    def asks_after(self, pause_s: float) -> None:
        """It asks for sound once, so long after the last time."""
        self.now_s += pause_s
        frames = round(ASKS_EACH_S * RATE)
        self.opened[-1].callback(np.zeros((frames, 1), dtype=np.int16), frames, None, None)


@pytest.fixture
def device(monkeypatch: pytest.MonkeyPatch) -> Device:
    """A device that stands in for the machine's."""
    made = Device()
    monkeypatch.setitem(sys.modules, "sounddevice", made.module)
    return made


def test_the_speaker_is_shallow_only_while_the_machine_keeps_up(device: Device) -> None:
    """Sound is heard sooner once it was asked for in time for long, and without holes else."""
    speaker = Speaker(0, lambda: device.now_s)
    tone = np.full(1600, 9000, dtype=np.int16)

    def waits_s() -> float:
        """Between a sound handed over and its first sample heard."""
        ends_s = speaker.play(tone, 16_000) - device.now_s
        device.runs(0.5)
        return ends_s - 0.1

    device.runs(1.0)
    assert waits_s() == pytest.approx(DEEP_S)
    device.runs(PROVEN_S)
    assert waits_s() == pytest.approx(SHALLOW_S)
    device.asks_after(SHALLOW_S + 0.01)
    assert waits_s() == pytest.approx(DEEP_S)
    device.runs(PROVEN_S)
    assert waits_s() == pytest.approx(SHALLOW_S)
    assert [stream.latency for stream in device.opened] == [DEEP_S, SHALLOW_S] * 2


def test_the_depth_does_not_change_within_a_turn(device: Device) -> None:
    """A sound that plays is not cut off to be shallower, and what was played is known on both sides."""
    speaker = Speaker(0, lambda: device.now_s)
    device.runs(PROVEN_S - 0.5)
    long, short = (np.full(n, 9000, dtype=np.int16) for n in (16_000, 1600))
    speaker.play(long, 16_000)
    device.runs(0.7)
    assert speaker.play(short, 16_000) == pytest.approx(PROVEN_S - 0.5 + 1.1 + DEEP_S)
    device.runs(1.0)
    speaker.play(short, 16_000)
    assert speaker.play(short, 16_000) == pytest.approx(device.now_s + 0.2 + SHALLOW_S)
    device.runs(0.5)
    assert len(device.opened) == 2
    place = speaker.place_of(device.now_s)
    assert place is not None
    assert np.count_nonzero(speaker.played(place - 48_000, 48_000)) == pytest.approx(
        1.3 * 16_000, abs=100
    )
