"""Whom the program listens to: everybody, whoever has pressed a button, or whoever calls it.

Around a nurse people speak to each other, to the patient and over the intercom. Three ways:

* ``always``: everything is heard, and what is no phrase is passed over.
* ``button``: nothing is heard until a key is pressed; then one utterance is. The surest of the
  three, for whoever has a foot or a finger to spare.
* ``word``: an entry, or a "confirm", is one only behind an attention word (``voice.meaning.attention``).
  What comes without it was said to somebody else: nothing of it is kept, not even its sound.
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import TYPE_CHECKING, Protocol

from voice.dialogue.actions import Tone
from voice.meaning.decision import Accept, AskBetween, Decision, Doubt, NotForUs, NotUnderstood

if TYPE_CHECKING:
    from voice.capture.keyboard import Keys

OPEN_S = 8.0
"""How long a press waits for speech (common practice, no source: the longest utterance that is
taken, so that nobody who is slow to begin is cut off)."""
HELD_S = 0.7
"""Presses closer together than this are one key held down: keyboards begin to repeat a held key
after 0.25 to 0.66 s (from memory)."""


class Way(StrEnum):
    """Whom the program listens to."""

    ALWAYS = "always"
    BUTTON = "button"
    WORD = "word"


class Attention(Protocol):
    """Lets sound in, or does not."""

    @property
    def open(self) -> bool:
        """Whether sound is let in now."""

    @property
    def notice(self) -> str | None:
        """What is said at the start: how the program is called."""

    def look(self, at_s: float, deaf_until_s: float, *, in_speech: bool) -> Tone | None:
        """Open or close as it is time, and give the tone that tells so.

        Times are on the source's clock, in s. Until ``deaf_until_s`` the program itself speaks.
        """

    def heard(self, decision: Decision) -> None:
        """Learn what became of an utterance."""

    def keeps(self, decision: Decision) -> bool:
        """Whether the utterance is kept in the journal, with its sound."""

    def close(self) -> None:
        """Give back what it holds."""


class Always:
    """Hears everything."""

    open = True
    notice: str | None = None

    def look(self, at_s: float, deaf_until_s: float, *, in_speech: bool) -> Tone | None:  # noqa: ARG002
        """There is nothing to open or to close."""
        return None

    def heard(self, decision: Decision) -> None:
        """Whatever it was, everything is heard."""

    def keeps(self, decision: Decision) -> bool:  # noqa: ARG002
        """Keep everything, so that the reviewer can hear what was not understood."""
        return True

    def close(self) -> None:
        """It holds nothing."""


class Called(Always):
    """Hears everything, and keeps only what was surely meant for the program.

    What is too faint, too long or no phrase at all may have been said to anybody.
    """

    def __init__(self, word: str) -> None:
        """``word`` is the attention word, which the grammar that is listened with must know."""
        self.notice = f"say {word} first"

    def keeps(self, decision: Decision) -> bool:
        """Keep what begins with the attention word, or answers what is open."""
        match decision:
            case Accept() | AskBetween():
                return True
            case NotUnderstood(doubt=doubt):
                return doubt in {Doubt.CLOSE, Doubt.UNFINISHED, Doubt.OVER_US}
            case NotForUs():
                return False


class Pressed(Always):
    """Deaf until a key is pressed, and after one utterance again."""

    notice = "press a key, then speak"

    def __init__(self, keys: Keys) -> None:
        self._keys = keys
        self.open = False
        self._until_s = -math.inf
        self._pressed_s = -math.inf

    def look(self, at_s: float, deaf_until_s: float, *, in_speech: bool) -> Tone | None:
        """Open at a press, with a rising tone; close, with a falling one, where nobody speaks.

        A press while the program speaks counts from when it has ended, without a tone.
        """
        if self._keys.pressed():
            held = at_s - self._pressed_s < HELD_S
            self._pressed_s = at_s
            if not held:
                tone = None if self.open or at_s < deaf_until_s else Tone.HEARD
                self.open = True
                self._until_s = max(at_s, deaf_until_s) + OPEN_S
                return tone
        if self.open and not in_speech and at_s >= self._until_s:
            self.open = False
            return Tone.NOT_UNDERSTOOD
        return None

    def heard(self, decision: Decision) -> None:
        """One utterance is enough; other talk that comes in between is not it."""
        if decision not in (NotForUs(), NotUnderstood(doubt=Doubt.UNFINISHED)):
            self.open = False

    def close(self) -> None:
        """Leave the keys as they were found."""
        self._keys.close()
