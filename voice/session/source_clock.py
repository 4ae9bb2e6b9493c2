"""The time of a sitting: that of its source of sound, and what it is on the wall."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime


class SourceClock:
    """Goes on by itself where the source's clock does, and else with the sound."""

    def __init__(self, zero_at: datetime, clock: Callable[[], float] | None) -> None:
        """``zero_at`` (aware) is the moment of 0 s; ``clock`` gives s on the source's own clock."""
        self._zero_at = zero_at
        self._clock = clock
        self.heard_s = 0.0
        """Where the last sound ended."""

    def now_s(self) -> float:
        """Now, in s on the source's clock."""
        return self.heard_s if self._clock is None else self._clock()

    @property
    def late_s(self) -> float:
        """How far we are behind the sound, in s: it waits for us where hearing takes long."""
        return self.now_s() - self.heard_s

    def now(self) -> datetime:
        """Now, on the wall."""
        return self.at(self.now_s())

    def at(self, source_s: float) -> datetime:
        """A moment of the source's clock on the wall."""
        return self._zero_at + timedelta(seconds=source_s)
