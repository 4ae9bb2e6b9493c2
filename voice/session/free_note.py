"""A free note: words that are kept as sound and not made out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from voice.entries.heard import SAMPLE_RATE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from voice.entries.heard import Segment

NOTE_PAUSE_S = 2.0
"""A free note is over after so long a pause (common practice, no source: longer than the pause
between two sentences)."""
LONGEST_NOTE_S = 60.0
"""A free note is cut here: the talk must not be lost in it."""


class FreeNote:
    """The note that is being spoken, as far as it has come; false before its first word."""

    def __init__(self) -> None:
        self._said: list[Segment] = []

    def __bool__(self) -> bool:
        return bool(self._said)

    def add(self, segment: Segment) -> None:
        """More of it was said."""
        self._said.append(segment)

    @property
    def samples(self) -> NDArray[np.int16]:
        """Its sound, without the pauses."""
        return np.concatenate([segment.samples for segment in self._said])

    @property
    def start_s(self) -> float:
        """When it began, on the source's clock."""
        return self._said[0].start_s

    @property
    def end_s(self) -> float:
        """Where its sound ends."""
        return self._said[-1].end_s

    @property
    def speech_end_s(self) -> float:
        """When its last word ended."""
        return self._said[-1].speech_end_s

    @property
    def full(self) -> bool:
        """Whether no more goes into it."""
        return sum(len(part.samples) for part in self._said) >= LONGEST_NOTE_S * SAMPLE_RATE

    def over(self, at_s: float) -> bool:
        """Whether nothing was added for so long that no more is to come."""
        return at_s - self.speech_end_s >= NOTE_PAUSE_S
