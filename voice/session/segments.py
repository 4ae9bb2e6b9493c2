"""Stretches of speech in sound that is there already, without a talk."""

from __future__ import annotations

from functools import cache
from itertools import chain
from typing import TYPE_CHECKING

import numpy as np

from voice.capture.recordings import TAIL_S, read_recording
from voice.entries.heard import SAMPLE_RATE, Block
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import SileroVad

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from numpy.typing import NDArray

    from voice.entries.heard import Segment


def segments_of(
    file: Path, hangover_s: Callable[[Segment], float] | None = None
) -> Iterator[Segment]:
    """The segments of one file, in time from its beginning, with silence put around it.

    The silence is long enough to end a phrase; ``hangover_s`` is as ``Segmenter.feed`` has it.
    Raises ``RecordingError`` for a file that cannot be used.
    """
    silence = np.zeros(round(TAIL_S * SAMPLE_RATE), dtype=np.int16)
    segmenter = Segmenter(SileroVad())
    start_s = -TAIL_S
    for samples in chain([silence], read_recording(file), [silence]):
        block = Block(start_s, samples)
        start_s = block.end_s
        yield from segmenter.feed(block, hangover_s)


def segments_in(sound: NDArray[np.int16]) -> tuple[Segment, ...]:
    """The segments of a sound, in time from its beginning.

    It has to end in silence: speech that goes on to its end is in none of them.
    """
    detector = _detector()
    detector.reset()
    return Segmenter(detector).feed(Block(0.0, sound))


@cache
def _detector() -> SileroVad:
    """Made once: that takes twice as long as to go through a phrase with it."""
    return SileroVad()
