"""Faint sound made louder before it is heard.

The recogniser was taught with speech of ordinary loudness and adds a little hiss of its own, so it hears
less of what comes in below some -35 dBFS (docs/bench.md). A whole segment is multiplied by one number, so
nothing in it goes up and down; and only up to a level at which nothing is cut off, so sound that is loud
enough already is heard as it is.
"""

from __future__ import annotations

from collections import deque
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from voice.entries.heard import Segment

RAISED_TO_DBFS = -20.0
"""Loudest sample after it was made louder; what is above is left as it is. Speech with its loudest sample here is
heard as well as louder speech (docs/bench.md)."""
MOST_DB = 30.0
"""It is never made louder than by this: what needs more is mostly hiss."""
REMEMBERED = 5
"""So many utterances tell how loud the speech is here (common practice, no source): beside a nurse who is near
the microphone, somebody who is far from it stays faint."""
_FULL_SCALE = 32768


class Raiser:
    """Makes segments louder where all of the last ones were faint."""

    def __init__(self) -> None:
        self._peaks: deque[tuple[float, int]] = deque(maxlen=REMEMBERED)  # by the start of each

    def raised(self, segment: Segment) -> Segment:
        """The segment as it is to be heard; it has to be given each segment that is heard.

        One that begins where the last did is the same, gone on.
        """
        peak = int(np.abs(segment.samples.astype(np.int32)).max(initial=0))
        if self._peaks and self._peaks[-1][0] == segment.start_s:
            self._peaks.pop()
        self._peaks.append((segment.start_s, peak))
        return self.raised_alike(segment)

    def raised_alike(self, segment: Segment) -> Segment:
        """A segment of sound that it was given already, as loud as what it was given last."""
        loudest = max((peak for _, peak in self._peaks), default=0)
        target = _FULL_SCALE * 10 ** (RAISED_TO_DBFS / 20)
        if not 0 < loudest < target:
            return segment
        factor = min(target / loudest, 10 ** (MOST_DB / 20))
        louder = np.rint(segment.samples * factor).astype(np.int16)
        return replace(segment, samples=louder)
