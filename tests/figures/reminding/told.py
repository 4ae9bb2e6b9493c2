"""What is due of an invented leg, minute by minute."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from tests.figures.conftest import at
from tests.figures.consequences.told import changed, icp, leg, leg_of
from voice.entries.reminder import ReminderTurn
from voice.figures.reminding import due

if TYPE_CHECKING:
    from voice.entries.leg import Leg

__all__ = ["at", "changed", "icp", "leg", "leg_of"]


def due_at(leg: Leg, rule: str, minute: float) -> list[str]:
    """What a row says at a minute."""
    return [one.text for one in due(leg, at(minute)) if one.key.rule == rule]


def due_from(leg: Leg, rule: str, minute: float) -> bool:
    """Whether a row has something to say from exactly this minute on."""
    return not due_at(leg, rule, minute - 0.01) and bool(due_at(leg, rule, minute))


def after(
    leg: Leg,
    rule: str,
    minute: float,
    became: Literal["said", "acknowledged", "postponed"] = "said",
    until: float | None = None,
) -> Leg:
    """The leg after that became, at a minute, of what the row then had to say, or had said last."""
    keys = [one.key for one in due(leg, at(minute)) if one.key.rule == rule]
    keys += [turn.key for turn in reversed(leg.reminders) if turn.key.rule == rule]
    ends = None if until is None else at(until)
    turn = ReminderTurn(key=keys[0], at=at(minute), became=became, until=ends)
    return leg.model_copy(update={"reminders": (*leg.reminders, turn)})
