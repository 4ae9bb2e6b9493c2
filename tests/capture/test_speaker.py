"""How much sound lies in the speaker, against a PortAudio that asks for sound when it is told to."""

from __future__ import annotations

import sys
from types import SimpleNamespace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from voice.capture import portaudio
from voice.capture.depth import DEPTHS_S, FIRST_PROOF_S, GROWS, LONGEST_PROOF_S, Depth
from voice.capture.speaker import Speaker

if TYPE_CHECKING:
    from collections.abc import Callable

RATE = 48_000
SHALLOWEST_S, SHALLOW_S, DEEP_S, DEEPEST_S = DEPTHS_S


class Device:
    """The machine's clock and its speaker."""

    def __init__(self) -> None:
        self.now_s = 0.0
        self.opened: list[SimpleNamespace] = []
        self.heard: list[np.ndarray[tuple[int], np.dtype[np.int16]]] = []
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

    @property
    def each_s(self) -> float:
        """How often it asks for sound: as PortAudio does, when a quarter has been played."""
        return float(self.opened[-1].latency) / 4

    def runs(self, for_s: float) -> None:
        """It asks for sound, each time when it is due."""
        until_s = self.now_s + for_s
        while self.now_s < until_s:
            self.asks()

    def asks(self, late_s: float = 0.0, *, dry: bool = False) -> None:
        """It asks for sound once, so long after that was due, or tells that it ran dry."""
        self.now_s += self.each_s + late_s
        frames = round(self.each_s * RATE)
        flags = SimpleNamespace(output_underflow=dry)
        sound = np.full((frames, 1), 999, dtype=np.int16)
        self.opened[-1].callback(sound, frames, None, flags)
        self.heard.append(sound[:, 0])


@pytest.fixture
def device(monkeypatch: pytest.MonkeyPatch) -> Device:
    """A device that stands in for the machine's."""
    made = Device()
    monkeypatch.setitem(sys.modules, "sounddevice", made.module)
    monkeypatch.setattr(portaudio, "_open", set())  # its streams are not the machine's
    return made


def waits_s(device: Device, speaker: Speaker) -> float:
    """Between a sound handed over and its first sample heard."""
    ends_s = speaker.play(np.full(1600, 9000, dtype=np.int16), 16_000) - device.now_s
    device.runs(0.5)
    return ends_s - 0.1


def test_the_speaker_is_as_shallow_as_the_machine_keeps_up_with(device: Device) -> None:
    """Sound is heard sooner once it was asked for in time for long, and without holes else."""
    speaker = Speaker(0, lambda: device.now_s)
    device.runs(1.0)
    assert waits_s(device, speaker) == pytest.approx(DEEP_S)
    device.runs(FIRST_PROOF_S)
    assert waits_s(device, speaker) == pytest.approx(SHALLOWEST_S)
    device.asks(0.03)
    assert waits_s(device, speaker) == pytest.approx(SHALLOW_S)
    device.asks(0.04)
    assert waits_s(device, speaker) == pytest.approx(DEEP_S)
    device.asks(0.08)
    assert waits_s(device, speaker) == pytest.approx(DEEPEST_S)
    device.runs(FIRST_PROOF_S)
    assert waits_s(device, speaker) == pytest.approx(DEEPEST_S)
    device.runs(GROWS * FIRST_PROOF_S)
    assert waits_s(device, speaker) == pytest.approx(SHALLOWEST_S)
    device.asks(dry=True)
    assert waits_s(device, speaker) == pytest.approx(SHALLOW_S)


def test_a_deep_speaker_tells_that_a_shallow_one_would_not_run_dry(device: Device) -> None:
    """What counts is how late a request is, not how seldom the device asks: 0.04 s lie between two here."""
    speaker = Speaker(0, lambda: device.now_s)
    for _ in range(round(FIRST_PROOF_S / 0.025)):
        device.asks(0.015)
    assert waits_s(device, speaker) == pytest.approx(SHALLOWEST_S)


def test_a_depth_that_was_too_little_again_and_again_is_not_tried_each_minute() -> None:
    """After each hole the proof must be longer, but never endless."""
    depth, at_s, trusted_after_s = Depth(0.0), 0.0, []
    for _ in range(4):
        began_s = at_s
        while depth.wanted_s(at_s) == DEEPEST_S:
            at_s += 1.0
        trusted_after_s.append(at_s - began_s)
        depth.asked(DEEPEST_S, at_s)
        depth.asked(DEEPEST_S, at_s)  # not yet trusted again: it costs nothing more
    assert trusted_after_s == [0.0, FIRST_PROOF_S, GROWS * FIRST_PROOF_S, LONGEST_PROOF_S]


def test_the_depth_does_not_change_within_a_turn(device: Device) -> None:
    """A sound that plays is not cut off to be shallower, and what was played is known on both sides."""
    speaker = Speaker(0, lambda: device.now_s)
    device.runs(FIRST_PROOF_S - 0.5)
    began_s = device.now_s
    long, short = (np.full(n, 9000, dtype=np.int16) for n in (16_000, 1600))
    speaker.play(long, 16_000)
    device.runs(0.7)
    assert speaker.play(short, 16_000) == pytest.approx(began_s + 1.0 + 0.1 + DEEP_S)
    device.runs(1.0)
    speaker.play(short, 16_000)
    assert speaker.play(short, 16_000) == pytest.approx(device.now_s + 0.2 + SHALLOWEST_S)
    device.runs(0.5)
    assert len(device.opened) == 2
    place = speaker.place_of(device.now_s)
    assert place is not None
    assert np.count_nonzero(speaker.played(place - 48_000, 48_000)) == pytest.approx(
        1.3 * 16_000, abs=100
    )


def test_no_sound_is_cut_or_torn_where_the_depth_changes(device: Device) -> None:
    """Each tone comes out whole, at each depth, with nothing but silence around it."""
    speaker = Speaker(0, lambda: device.now_s)
    tone = np.round(9000 * np.sin(np.arange(4800) * 2 * np.pi / 100)).astype(np.int16)
    for late_s in (0.0, 0.03, 0.04, 0.08, 0.0):
        device.runs(GROWS * FIRST_PROOF_S)
        device.asks(late_s)
        speaker.play(tone, RATE)
        speaker.play(tone, RATE)
        device.runs(0.5)
    assert {stream.latency for stream in device.opened} == set(DEPTHS_S)
    heard = np.concatenate(device.heard).astype(np.int32)
    (loud,) = np.nonzero(abs(heard) > 1)
    starts = loud[np.diff(loud, prepend=-RATE) > RATE] - 1
    expected = np.zeros_like(heard)
    for start in starts:
        expected[start : start + 2 * len(tone)] = np.concatenate((tone, tone))
    assert len(starts) == 5
    assert abs(heard - expected).max() <= 1  # the resampler rounds by chance


def test_what_ran_dry_ends_later_than_was_told(device: Device) -> None:
    """By as much as the device had nothing to play; a request that came late and in time slips nothing."""
    speaker = Speaker(0, lambda: device.now_s)
    device.runs(1.0)
    speaker.play(np.full(16_000, 9000, dtype=np.int16), 16_000)
    device.runs(0.3)
    device.asks(DEEP_S / 4)
    device.asks(-DEEP_S / 4)
    assert speaker.slipped_s() == 0.0
    device.asks(0.6, dry=True)
    assert speaker.slipped_s() == pytest.approx(0.6, abs=DEEP_S / 2)
    device.runs(1.5)
    assert speaker.slipped_s() == pytest.approx(0.6, abs=DEEP_S / 2)
    speaker.play(np.full(1600, 9000, dtype=np.int16), 16_000)
    assert speaker.slipped_s() == 0.0


def test_of_a_speaker_that_has_gone_nothing_is_waited_for(device: Device) -> None:
    """Nobody is kept from being heard by words that will never sound."""
    speaker = Speaker(0, lambda: device.now_s)
    device.runs(1.0)
    speaker.play(np.full(16_000, 9000, dtype=np.int16), 16_000)
    device.now_s += 0.9
    assert speaker.slipped_s() > 0.5
    device.now_s += 0.5
    assert speaker.slipped_s() == 0.0


def test_what_was_cut_off_slips_no_more(device: Device) -> None:
    """Silence ends when it was told to."""
    speaker = Speaker(0, lambda: device.now_s)
    device.runs(1.0)
    speaker.play(np.full(16_000, 9000, dtype=np.int16), 16_000)
    device.asks(0.6, dry=True)
    speaker.stop()
    device.runs(0.5)
    assert speaker.slipped_s() == 0.0
