"""What became of a reminder: said, acknowledged or postponed."""

from __future__ import annotations

from typing import Literal

from pydantic import AwareDatetime

from voice.entries.frozen import Frozen


class ReminderKey(Frozen):
    """Which reminder it is: of the same rule, about the same thing, with the same beginning.

    When its cause recurs it begins anew, and that is another reminder.
    """

    rule: str
    """Name of its row in the table of reminders."""
    since: AwareDatetime
    """When its cause began."""
    about: str | None = None
    """What tells apart two causes of one rule that began together, as a drug."""


class ReminderTurn(Frozen):
    """One thing that became of a reminder."""

    key: ReminderKey
    at: AwareDatetime
    became: Literal["said", "acknowledged", "postponed"]
    until: AwareDatetime | None = None
    """For how long it is not said again, where it was postponed."""
