"""What has to be said because of what was kept, or because time has passed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.figures.consequences import Remark, due, remarks
from voice.meaning.aloud import aloud

if TYPE_CHECKING:
    from datetime import datetime

    from voice.entries.leg import Leg

LOOK_EVERY_S = 5.0
"""How often it is looked for what is due (no source: no reminder is meant to the second)."""


class Reminders:
    """Remembers what was said, so that each thing is said once."""

    def __init__(self) -> None:
        self._said: set[Remark] = set()
        self._looked_at_s = float("-inf")

    def look(self, at_s: float) -> bool:
        """Whether it is time to look for what is due; ``at_s`` is on the source's clock."""
        if at_s - self._looked_at_s < LOOK_EVERY_S:
            return False
        self._looked_at_s = at_s
        return True

    def due(self, leg: Leg, now: datetime) -> str | None:
        """The next thing that has gone undone for too long, as it is spoken; then it counts as said."""
        for remark in due(leg, now):
            if remark not in self._said:
                self._said.add(remark)
                return aloud(remark.text)
        return None

    def remarks(self, leg: Leg, number: int, now: datetime) -> list[str]:
        """What has to be said because this entry has just been kept, as it is spoken."""
        return [aloud(remark.text) for remark in remarks(leg, number, now)]
