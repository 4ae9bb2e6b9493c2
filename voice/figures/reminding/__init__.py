"""Reminders: what was told that asks for something else, which was not told for too long.

All of it stands in one table, ``TABLE``; ``docs/reminders.md`` is drawn from it by
``python -m voice.figures.reminding.draw``. Everything here is worked out of the leg alone, of its
entries and of what became of earlier reminders: a correction or a withdrawal takes the cause away,
and a leg that is gone on with repeats nothing that was acknowledged.
"""

from __future__ import annotations

from voice.figures.reminding.answers import causes, due, unanswered
from voice.figures.reminding.rule import Reminder

__all__ = ["Reminder", "causes", "due", "unanswered"]
