"""The second listener, at work beside the first.

It hears the same sound as the first, on a thread of its own, from the moment a pause begins; so it has the rest of
the pause for it, and little more. What it has not made out by then is late: the first listener goes on
alone. It never holds up the talk, whatever it does.
"""

from __future__ import annotations

import math
import threading
import time
from contextlib import suppress
from dataclasses import dataclass, field
from queue import SimpleQueue
from typing import TYPE_CHECKING

from voice.entries.heard import SecondOpinion, Stand

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from voice.entries.heard import Hearing, Segment
    from voice.hearing.listener import Listener
    from voice.meaning.listening import Listening

IN_TIME_S = 0.5
"""How long it may take from where it was asked to, 0.3 s into the pause: mostly it is done before the pause has
ended an entry (0.6 s), and the answer never comes more than 0.2 s later for it."""


@dataclass
class _Question:
    segment: Segment
    state: Listening
    asked_s: float
    answered: threading.Event = field(default_factory=threading.Event)
    hearing: Hearing | None = None
    """``None`` after ``answered``: it failed."""


class Beside:
    """One second listener for each small grammar, asked about one segment after the other."""

    def __init__(
        self,
        listeners: Mapping[Listening, Listener],
        *,
        in_time_s: float = IN_TIME_S,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        """``in_time_s`` counts from `begin`, by ``clock`` (in s, monotonic)."""
        self._listeners = listeners
        self._in_time_s = in_time_s
        self._clock = clock
        self._last: _Question | None = None
        self._waiting: SimpleQueue[_Question | None] = SimpleQueue()
        # a daemon: a listener that hangs must not keep the program from ending
        threading.Thread(target=self._work, daemon=True, name="second listener").start()

    def begin(self, segment: Segment, state: Listening) -> None:
        """Ask about a segment; what was asked before and is not begun is dropped."""
        last = self._last
        if last is None or last.segment is not segment or last.state is not state:
            self._last = _Question(segment, state, self._clock())
            self._waiting.put(self._last)

    def opinion(self, segment: Segment, state: Listening) -> Hearing | SecondOpinion:
        """What it made of a segment, or that it was late or failed; waits no longer than it may."""
        self.begin(segment, state)
        asked = self._last
        assert asked is not None
        left_s = asked.asked_s + self._in_time_s - self._clock()
        if not asked.answered.wait(max(0.0, left_s)):
            return SecondOpinion(Stand.LATE)
        return asked.hearing or SecondOpinion(Stand.FAILED)

    def close(self) -> None:
        """Ask it nothing more."""
        self._waiting.put(None)

    def _work(self) -> None:
        while (question := self._waiting.get()) is not None:
            if question is not self._last:
                continue  # more was said since, or time has run out
            with suppress(
                Exception
            ):  # whatever it fails of, the first goes on, and the entry says so
                hearing = self._listeners[question.state].hear(question.segment)
                if all(math.isfinite(one.score) for one in hearing.alternatives):
                    question.hearing = hearing
            question.answered.set()
