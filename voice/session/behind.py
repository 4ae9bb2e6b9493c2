"""A machine that cannot keep up with the sound: what waits is heard in its order, and the nurse is told.

Sound waits in the microphone's queue, which is bounded (``voice.capture.microphone``); what does not fit is
lost, and told as lost sound. What waits was said before we speak, so it is heard though we are deaf by then.
An answer is only taken to what had sounded when it was said (``voice.session.falling_in``).
"""

from __future__ import annotations

import math

BEHIND_S = 1.0
"""From so far behind on, only what must be is heard: no pause is listened to before it has ended a phrase."""
TELL_S = 3.0
"""Delay that is told: whoever waits for an answer so long will think that she was not heard (no source)."""
CAUGHT_UP_S = 0.5
"""With less delay than this it has caught up: answers come as ever."""
AGAIN_S = 300.0
"""How long a further delay is not told aloud, unless it is twice as great as the one that was (no source)."""


class Behind:
    """Finds out how far behind the sound we are, and what is to be told of it."""

    def __init__(self) -> None:
        self._most_s = 0.0  # of this delay; 0 while there is none
        self._told_s = 0.0  # the delay that was told aloud last
        self._told_at_s = -math.inf

    def caught_up(self, late_s: float) -> str | None:
        """What is to be noted when a delay is over, now that we are ``late_s`` behind: how great it was."""
        if self._most_s and late_s < CAUGHT_UP_S:
            most_s, self._most_s = self._most_s, 0.0
            return f"Hearing was up to {most_s:.0f} s behind; it has caught up."
        if self._most_s or late_s >= TELL_S:
            self._most_s = max(self._most_s, late_s)
        return None

    def aloud(self, at_s: float, late_s: float) -> str | None:
        """What is to be told the nurse; mostly nothing, and each delay once.

        ``at_s`` is where we stand in the sound and ``late_s`` how far behind its end that is, in s.
        """
        quiet = at_s < self._told_at_s + AGAIN_S and late_s < 2 * self._told_s
        if late_s < TELL_S or quiet:
            return None
        self._told_s, self._told_at_s = late_s, at_s
        return f"I am {late_s:.0f} seconds behind. Wait for my answers."
