"""The leg as a whole, and notes."""

from __future__ import annotations

from typing import Literal

from voice.entries.frozen import Frozen


class LegMark(Frozen):
    """Something that happened to the transport as a whole."""

    kind: Literal["leg_mark"] = "leg_mark"
    mark: Literal[
        "wheels up", "wheels down", "loaded", "unloaded", "departed", "arrived", "handed over"
    ]


class SpokenNote(Frozen):
    """Free words; only their sound is kept."""

    kind: Literal["spoken_note"] = "spoken_note"


LegNews = LegMark | SpokenNote
"""What can be said of the leg."""
