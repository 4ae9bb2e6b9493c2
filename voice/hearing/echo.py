"""Our own voice taken out of what the microphone hears.

What is played is known, so the way from speaker to microphone can be learned: a filter that turns the
one into the echo, whose output is then subtracted. It is learned a block at a time in the frequency
domain, by a Kalman filter for each frequency: it takes large steps while it knows little, and small ones
while somebody else speaks, who looks to it like noise. Source (from memory): Enzner and Vary,
"Frequency-domain adaptive Kalman filter for acoustic echo control in hands-free telephones", Signal
Processing 2006; the filter cut into parts after Kuech, Mabande and Enzner, ICASSP 2014.
"""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING, Protocol

import numpy as np

from voice.entries.heard import SAMPLE_RATE, Block
from voice.hearing.moved import MOST, before, moved
from voice.hearing.segmenter import JUMP_S

if TYPE_CHECKING:
    from numpy.typing import NDArray


FRAME = 512
"""Samples that are taken at once."""
LONGEST_S = 0.4
"""Longest time from a sample handed to the speaker to the last of its echo: sound waits in both
devices, Bluetooth's longest (common practice, no source)."""
PARTS = round(LONGEST_S * SAMPLE_RATE / FRAME)
STEADY = 0.9995
"""How much of the way stays from one frame to the next; a head that turns changes it in seconds."""
APART_S = 0.05
"""Two clocks may disagree by so much before the speaker's place is looked up anew."""
LEARNED_S = 4.0
"""Sound of our own after which the way is known: of the loudest echo 14 dB are taken out by then (docs/bench.md)."""
LOOK_EACH_S = 0.4
"""While we speak, the way that was known before a jump is looked for in so much sound, and then in the next."""
_FULL_SCALE = 32768.0
_KEPT = round(8 * SAMPLE_RATE / FRAME)


class Known(Protocol):
    """What is played, by its place among all that is handed to the device."""

    def place_of(self, at_s: float) -> int | None:
        """The place that was handed over at ``at_s``, on the blocks' clock; ``None``: not known."""

    def played(self, first: int, count: int) -> NDArray[np.int16]:
        """So many samples from a place on, at ``SAMPLE_RATE``."""


class EchoCanceller:
    """Takes what is played out of the blocks, which it must get in their order."""

    def __init__(self, known: Known) -> None:
        self._known = known
        self._next: int | None = None  # place of what was handed over as the next sample came in
        self._end_s = 0.0  # end of the last block
        self._rest = np.zeros(0, dtype=np.int16)  # samples short of a frame
        self._powers: deque[tuple[float, float, float]] = deque(maxlen=_KEPT)
        self._before: NDArray[np.float64] | None = None  # the way as it was, while it is looked for
        self._forget()

    @property
    def learned(self) -> bool:
        """Whether enough was played to know what an echo sounds like."""
        return self._heard_of_us >= LEARNED_S * SAMPLE_RATE

    def removed_db(self, from_s: float, to_s: float) -> float:
        """How much more was taken out than is left of the sound in that time, in dB; at most 8 s ago."""
        powers = [(e, left) for end_s, e, left in self._powers if from_s < end_s <= to_s]
        echo, left = (sum(power) for power in zip(*powers, strict=True)) if powers else (0.0, 0.0)
        return float(10 * np.log10((echo + 1e-9) / (left + 1e-9)))

    def clean(self, block: Block) -> Block:
        """The block without our own voice.

        It may be shorter or longer by less than ``FRAME`` samples: what is left over comes with the next.
        """
        self._follow(block)
        if self._next is None:
            return block
        samples = np.concatenate((self._rest, block.samples))
        start_s = block.end_s - len(samples) / SAMPLE_RATE
        whole = len(samples) // FRAME * FRAME
        self._rest = samples[whole:]
        frames = samples[:whole].reshape(-1, FRAME)
        first = self._next - len(samples)
        clean = []
        for n, frame in enumerate(frames):
            clean.append(self._frame(frame, first + FRAME * n))
            end_s = start_s + (n + 1) * FRAME / SAMPLE_RATE
            self._powers.append(
                (end_s, _power(frame.astype(np.int32) - clean[-1]), _power(clean[-1]))
            )
        return Block(start_s, np.concatenate(clean) if clean else samples[:0])

    def _follow(self, block: Block) -> None:
        """Find the place of the block's end; where it does not follow on the last, find the way again, or learn it anew."""
        place = self._known.place_of(block.end_s)
        follows = abs(block.start_s - self._end_s) <= JUMP_S
        self._end_s = block.end_s
        if place is not None and self._next is not None and follows:
            self._next += len(block.samples)
            if abs(self._next - place) <= APART_S * SAMPLE_RATE:
                return
        self._next = place
        self._rest = self._rest[:0]
        if self.learned:
            self._before = np.fft.irfft(self._filter, axis=1)[:, :FRAME].ravel().astype(np.float64)
        self._forget()

    def _forget(self) -> None:
        bins = FRAME + 1
        self._played = np.zeros((PARTS, bins), dtype=np.complex64)  # the last frames played
        self._filter = np.zeros((PARTS, bins), dtype=np.complex64)
        self._unsure = np.ones((PARTS, bins), dtype=np.float32)  # how wrong the filter may be
        self._left = np.zeros(bins, dtype=np.float32)  # power of what the filter does not explain
        self._heard_of_us = 0  # samples
        self._since: list[
            NDArray[np.int16]
        ] = []  # what came in since the jump, or was looked through last

    def _frame(self, heard: NDArray[np.int16], first: int) -> NDArray[np.int16]:
        sound = self._known.played(first - FRAME, 2 * FRAME)
        self._played[1:] = self._played[:-1]
        self._played[0] = np.fft.rfft(sound.astype(np.float32) / _FULL_SCALE)
        if not self._played.any():
            self._since.clear()
            return heard
        self._heard_of_us += FRAME if sound[FRAME:].any() else 0
        echo = np.fft.irfft((self._filter * self._played).sum(axis=0))[FRAME:]
        left = heard.astype(np.float32) / _FULL_SCALE - echo.astype(np.float32)
        self._learn(left)
        if self._before is not None:
            self._look_for(self._before, heard, first)
        clean: NDArray[np.int16] = np.clip(np.rint(left * _FULL_SCALE), -32768, 32767).astype(
            np.int16
        )
        return clean

    def _look_for(self, way: NDArray[np.float64], heard: NDArray[np.int16], first: int) -> None:
        """Put the filter to where the way is now, as soon as that can be told; meanwhile it learns."""
        self._since.append(heard)
        if len(self._since) * FRAME < LOOK_EACH_S * SAMPLE_RATE:
            return
        sound = np.concatenate(self._since)
        begin = first + FRAME - len(sound) - before(way)
        played = self._known.played(begin, before(way) + len(sound) + MOST)
        now = moved(way, played.astype(np.float64), sound.astype(np.float64))
        if now is not None:
            parts = np.pad(now.reshape(PARTS, FRAME), ((0, 0), (0, FRAME)))
            self._filter = np.fft.rfft(parts, axis=1).astype(np.complex64)
            self._unsure = (0.1 * np.abs(self._filter) ** 2).astype(np.float32)
            self._heard_of_us = round(LEARNED_S * SAMPLE_RATE)
        if self.learned:
            self._before = None
        self._since.clear()

    def _learn(self, left: NDArray[np.float32]) -> None:
        wrong = np.fft.rfft(np.concatenate((np.zeros(FRAME, np.float32), left)))
        self._left += 0.5 * (np.abs(wrong) ** 2 - self._left)
        power = np.abs(self._played) ** 2
        gain = self._unsure / ((power * self._unsure).sum(axis=0) + self._left + 1e-6)
        change = np.fft.irfft(gain * self._played.conj() * wrong, axis=1)
        change[:, FRAME:] = 0  # a part of the filter is one frame long
        self._filter += np.fft.rfft(change, axis=1)
        self._unsure = (
            STEADY**2 * (1 - 0.5 * gain * power) * self._unsure
            + (1 - STEADY**2) * np.abs(self._filter) ** 2
        )


def _power(samples: NDArray[np.int16] | NDArray[np.int32]) -> float:
    return float((samples.astype(np.float64) ** 2).mean() / _FULL_SCALE**2)
