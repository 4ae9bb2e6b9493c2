"""Blocks to segments: one stretch of speech each, with a little sound around it.

A segment is marked ``cut`` where the detector cannot vouch that the whole utterance is in it:
it ran into the greatest length, sound was lost in it, or it began or ended while the microphone
was deaf. Half a phrase may be another legal phrase ("pressure fifty", "fifty"), so a cut segment
must never be taken at its word.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from voice.entries.heard import SAMPLE_RATE, Block, Segment
from voice.hearing.vad import FRAME_SAMPLES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    from voice.hearing.vad import VoiceDetector

FRAME_S = FRAME_SAMPLES / SAMPLE_RATE

AROUND_S = 0.3
"""Sound kept before and after the speech. After so much silence the segment is as it will be if no more is
said, and can be heard: what was said tells how long a pause ends it."""
LONGEST_S = 8.0
"""Greatest length of a segment; the longest phrase takes half of it."""
PAUSE_LEFT_S = 0.3
"""Silence that is left between two segments that are joined: less than ends a phrase."""
HANGOVER_S = 0.6
"""Silence after which the speech is over, unless ``feed`` is told otherwise. A pause this long within a phrase
cuts it, and a half may be another legal phrase. Of 237 phrases by strange, slow voices 18.6 % fell apart at
0.4 s, 8.9 % at 0.5 and 2.5 % at 0.6 (docs/bench.md); the answer comes as much later."""
VOICED = 0.5
"""Probability at which speech begins."""
UNVOICED = 0.35
"""Probability below which a frame counts as silence once speech has begun."""
SHORTEST_VOICED_S = 0.1
"""Less speech than this is a click, not a word."""
JUMP_S = 0.02
"""A block this far from the end of the last one does not follow on it."""
HEADLESS_S = 0.1
"""Speech this soon after a gap began in the gap."""


@dataclass(frozen=True, slots=True)
class _Frame:
    start_s: float
    samples: NDArray[np.int16]

    @property
    def end_s(self) -> float:
        return self.start_s + FRAME_S


class Segmenter:
    """Cuts a stream of blocks into segments; pure apart from the detector that it is given."""

    def __init__(self, vad: VoiceDetector) -> None:
        self._vad = vad
        self._deaf: list[tuple[float, float]] = []  # from when, until when
        self._next_s: float | None = None  # where the next block should start
        self._rest = np.zeros(0, dtype=np.int16)  # samples short of a frame
        self._before: deque[_Frame] = deque(maxlen=round(AROUND_S / FRAME_S))
        self._unsure_until_s: float | None = None  # speech from before then lacks its beginning
        self._open: list[_Frame] = []  # the segment that is growing
        self._headless = False  # whether its beginning is missing
        self._voiced = 0  # its frames with speech
        self._speech_end_s = 0.0  # end of the last of them
        self._paused: Segment | None = None  # the segment, if the present pause ends it
        self._hangover_s = HANGOVER_S  # how long this pause must be for that

    @property
    def in_speech(self) -> bool:
        """Whether a segment is growing: somebody may be speaking."""
        return bool(self._open)

    @property
    def growing(self) -> Segment | None:
        """The segment that is growing, with all its sound until now; ``None`` while nobody speaks.

        It is marked ``cut`` only where its beginning is missing.
        """
        if not self._open:
            return None
        return Segment(
            start_s=self._open[0].start_s,
            samples=np.concatenate([frame.samples for frame in self._open]),
            speech_end_s=self._speech_end_s,
            cut=self._headless,
        )

    def deaf_until(self, until_s: float, from_s: float = -math.inf) -> None:
        """Pass over all sound that starts before ``until_s``, and not before ``from_s``, on the blocks' own clock."""
        self._deaf.append((from_s, until_s))

    def listen(self) -> None:
        """Be deaf no more, and forget what was growing."""
        self.flush()
        self._deaf.clear()

    def feed(
        self, block: Block, hangover_s: Callable[[Segment], float] | None = None
    ) -> tuple[Segment, ...]:
        """The segments that ``block`` brings to an end; mostly none.

        ``hangover_s`` is asked in each pause, after ``AROUND_S``, how much silence in s ends the segment so
        far; it gets the same object that is given back if no more is said. Without it the pause
        is ``HANGOVER_S`` whatever was said.
        """
        done: list[Segment] = []
        if self._next_s is not None and abs(block.start_s - self._next_s) > JUMP_S:
            done += self.flush()
        self._next_s = block.end_s
        for frame in self._frames(block):
            done += self.flush() if self._is_deaf(frame.start_s) else self._take(frame, hangover_s)
        return tuple(done)

    def _is_deaf(self, at_s: float) -> bool:
        self._deaf = [span for span in self._deaf if at_s < span[1]]
        return any(from_s <= at_s for from_s, _ in self._deaf)

    def flush(self) -> tuple[Segment, ...]:
        """End the segment that is open, as cut, and start afresh: the sound does not go on."""
        done = self._close(cut=True)
        self._rest = self._rest[:0]
        self._before.clear()
        self._unsure_until_s = None
        self._vad.reset()
        return done

    def _frames(self, block: Block) -> Iterator[_Frame]:
        samples = np.concatenate((self._rest, block.samples))
        whole = len(samples) // FRAME_SAMPLES * FRAME_SAMPLES
        start_s = block.end_s - len(samples) / SAMPLE_RATE
        self._rest = samples[whole:]
        for first in range(0, whole, FRAME_SAMPLES):
            yield _Frame(start_s + first / SAMPLE_RATE, samples[first : first + FRAME_SAMPLES])

    def _take(
        self, frame: _Frame, hangover_s: Callable[[Segment], float] | None
    ) -> tuple[Segment, ...]:
        if self._unsure_until_s is None:
            self._unsure_until_s = frame.start_s + HEADLESS_S
        probability = self._vad.probability(frame.samples)
        if not self._open:
            self._before.append(frame)
            if probability >= VOICED:
                self._headless = frame.start_s < self._unsure_until_s
                self._open = list(self._before)
                self._voiced = 1
                self._speech_end_s = frame.end_s
            return ()
        self._open.append(frame)
        if probability >= UNVOICED:
            self._voiced += 1
            self._speech_end_s = frame.end_s
            self._go_on()
        silence_s = frame.end_s - self._speech_end_s
        if silence_s >= AROUND_S and self._paused is None:
            self._paused = self._so_far(cut=False)
            if self._paused is not None and not self._paused.cut and hangover_s is not None:
                self._hangover_s = hangover_s(self._paused)
        if silence_s >= self._hangover_s:
            # what the detector remembers of this voice makes it slow to find the next: of 98 phrases
            # that followed on others' talk and 20 s of cabin it found 16 more than 0.1 s late, else none
            self._vad.reset()
            return self._close(cut=False)
        if frame.end_s - self._open[0].start_s >= LONGEST_S:
            # what follows without a pause belongs to the same, too long, utterance
            self._unsure_until_s = self._speech_end_s + HANGOVER_S
            return self._close(cut=True)
        return ()

    def _go_on(self) -> None:
        """Forget the pause that there was: more is said."""
        self._paused = None
        self._hangover_s = HANGOVER_S

    def _close(self, *, cut: bool) -> tuple[Segment, ...]:
        segment = self._so_far(cut=True) if cut else self._paused
        self._before.extend(f for f in self._open if f.start_s >= self._speech_end_s)
        self._open = []
        self._go_on()
        return () if segment is None else (segment,)

    def _so_far(self, *, cut: bool) -> Segment | None:
        """The segment up to the last speech and ``AROUND_S`` more; ``None`` where that is but a click."""
        if not self._open or self._voiced * FRAME_S < SHORTEST_VOICED_S:
            return None
        kept = [frame for frame in self._open if frame.start_s < self._speech_end_s + AROUND_S]
        return Segment(
            start_s=kept[0].start_s,
            samples=np.concatenate([frame.samples for frame in kept]),
            speech_end_s=self._speech_end_s,
            cut=cut or self._headless,
        )


def joined(first: Segment, rest: Segment) -> Segment:
    """The sound of two segments as one, with ``PAUSE_LEFT_S`` of the silence between them.

    It begins with ``first``; its times are those of its own sound, as if the pause had been as short.
    """
    left = round(PAUSE_LEFT_S / 2 * SAMPLE_RATE)
    ends = round((first.speech_end_s - first.start_s) * SAMPLE_RATE) + left
    begins = max(0, round(AROUND_S * SAMPLE_RATE) - left)
    samples = np.concatenate((first.samples[:ends], rest.samples[begins:]))
    after_s = rest.end_s - rest.speech_end_s
    return Segment(
        start_s=first.start_s,
        samples=samples,
        speech_end_s=first.start_s + len(samples) / SAMPLE_RATE - after_s,
        cut=first.cut or rest.cut,
    )
