"""What may be said when: one small grammar for each state of the talk."""

from __future__ import annotations

from enum import StrEnum


class Listening(StrEnum):
    """What the program listens for."""

    ASLEEP = "asleep"
    """The nurse said "stand by"; before a leg, entries are listened for and refused aloud."""
    LISTENING = "listening"
    CONFIRMING = "confirming"
    """An entry was read back and waits for "confirm"."""
    CHECKING = "checking"
    """A question of a check was asked."""
    CHOOSING = "choosing"
    """Two readings were offered."""
