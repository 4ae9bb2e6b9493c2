"""Sound on its way to words: blocks, segments, hypotheses."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SAMPLE_RATE = 16_000
"""Samples a second, everywhere after capture."""


@dataclass(frozen=True, slots=True)
class Block:
    """A stretch of mono sound.

    ``start_s`` is on the source's own monotonic clock; a block that does not start where the last
    one ended tells that sound was lost or that a recording was joined.
    """

    start_s: float
    samples: NDArray[np.int16]
    lost_s: float = 0.0
    """How much sound was found to be lost on its way before this block."""

    @property
    def end_s(self) -> float:
        """When the last sample ends."""
        return self.start_s + len(self.samples) / SAMPLE_RATE


@dataclass(frozen=True, slots=True)
class Segment:
    """One stretch of speech, with a little sound before and after it."""

    start_s: float
    samples: NDArray[np.int16]
    speech_end_s: float
    """When the speech ended, before the sound kept after it."""
    cut: bool = False
    """Whether a part of the utterance may be missing: it was too long, sound was lost in it, or the
    microphone was deaf when it began or ended."""

    @property
    def end_s(self) -> float:
        """When the last sample ends."""
        return self.start_s + len(self.samples) / SAMPLE_RATE


@dataclass(frozen=True, slots=True)
class Alternative:
    """One thing that may have been said.

    ``score`` is the recogniser's log-likelihood-like score; greater is likelier. Its height means
    something only for a model that was measured; else only differences within one list do.
    """

    text: str
    score: float


class Stand(StrEnum):
    """How the second listener's opinion stands to the first's."""

    AGREED = "agreed"
    """Its likeliest phrase means the same."""
    DIFFERED = "differed"
    """Its likeliest phrase means something else."""
    NOTHING = "nothing"
    """It made out no phrase: other talk, or nothing at all."""
    LATE = "late"
    """It was not done in time, and was not waited for."""
    FAILED = "failed"
    """It broke down over the sound."""


@dataclass(frozen=True, slots=True)
class SecondOpinion:
    """What a second, independently trained listener made of the same sound."""

    stand: Stand
    alternatives: tuple[Alternative, ...] = ()
    """Likeliest first; empty where it was late, failed, or heard nothing."""


@dataclass(frozen=True, slots=True)
class Hearing:
    """What the recogniser made of a segment, likeliest first; empty where nothing was heard."""

    alternatives: tuple[Alternative, ...]
    second: SecondOpinion | None = None
    """``None`` where no second listener was asked."""
    beginnings: tuple[Alternative, ...] = ()
    """Phrases that broke off, likeliest first: none of them is among the others."""

    @property
    def all(self) -> tuple[Alternative, ...]:
        """Whole phrases and beginnings, likeliest first."""
        return tuple(sorted((*self.alternatives, *self.beginnings), key=lambda one: -one.score))
