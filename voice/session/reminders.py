"""What has to be said because of what was kept, or because time has passed."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from voice.dialogue.events import Reminder
from voice.dialogue.state import StateName
from voice.figures.consequences import remarks
from voice.figures.reminding import due
from voice.meaning.aloud import aloud

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from voice.entries.leg import Leg

LOOK_EVERY_S = 5.0
"""How often it is looked for what is due (no source: no reminder is meant to the second)."""
QUIET_S = 8.0
"""How long nobody must have spoken, the nurse to the program or the program itself, before a reminder
comes (common practice, no source: longer than the pause between two entries of one piece of work)."""
REST_S = 600.0
"""How long nothing is said any more when a reminder could not be noted: the trouble was told, and
what is not kept any more would soon be reminded of wrongly."""

_NEVER = {StateName.ASLEEP, StateName.NOTING}
"""When nothing may come in between: there is no leg, or her words are being kept as sound."""


class Reminders:
    """Finds the moment for what is due. What was said before, the leg itself remembers.

    A reminder waits while the talk waits for an answer, a check is asked or she has it stand by, and
    for `QUIET_S` after she or the program spoke. An urgent one waits for none of that.
    """

    def __init__(self) -> None:
        self._look_at_s = -math.inf
        self._quiet_from_s = -math.inf

    def spoke(self, until_s: float) -> None:
        """The nurse spoke to the program, or it spoke itself, until then on the source's clock."""
        self._quiet_from_s = max(self._quiet_from_s, until_s)

    def rest(self, at_s: float) -> None:
        """What was due could not be noted: leave it for `REST_S`."""
        self._look_at_s = at_s + REST_S

    def due(
        self, leg: Callable[[], Leg], state: StateName, at_s: float, now: datetime
    ) -> Reminder | None:
        """The reminder whose moment it is, if there is one; ``at_s`` is on the source's clock."""
        if state in _NEVER or at_s < self._look_at_s:
            return None
        self._look_at_s = at_s + LOOK_EVERY_S
        quiet = state is StateName.LISTENING and at_s - self._quiet_from_s >= QUIET_S
        for one in due(leg(), now):
            if quiet or one.urgent:
                return Reminder(one.key, aloud(one.text))
        return None


def spoken_remarks(leg: Leg, number: int, now: datetime) -> list[str]:
    """What has to be said because this entry has just been kept, as it is spoken."""
    return [aloud(remark.text) for remark in remarks(leg, number, now)]
