"""Sounds as they come in on a leg: a stretch of cabin noise, and what the detector cuts out."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from voice.entries.heard import Block
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import SileroVad

if TYPE_CHECKING:
    import random
    from collections.abc import Callable

    from numpy.typing import NDArray

    from voice.entries.heard import Segment


def level(speech: NDArray[np.int16]) -> float:
    """Root of the mean square over the whole sound."""
    return float(np.sqrt(np.mean(speech.astype(np.float64) ** 2)))


def stretch(noise: NDArray[np.float32], samples: int, rng: random.Random) -> NDArray[np.float32]:
    """So many samples of ``noise``, from anywhere in it."""
    first = rng.randrange(len(noise) - samples)
    return noise[first : first + samples]


def segments(
    sound: NDArray[np.int16], pause_s: Callable[[Segment], float] | None = None
) -> tuple[Segment, ...]:
    """Where the detector finds speech; ``pause_s`` as in ``Segmenter.feed``."""
    segmenter = Segmenter(_detector())
    return (*segmenter.feed(Block(0.0, sound), pause_s), *segmenter.flush())


@cache
def _detector() -> SileroVad:
    """One for all sounds, as on a leg: to load it takes longer than to run it over a phrase."""
    return SileroVad()
