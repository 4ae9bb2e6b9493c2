"""What the program reminded of, and what became of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from voice.entries.reminder import ReminderKey, ReminderTurn
    from voice.report.telling import Telling


def reminders(told: Telling) -> list[str]:
    """A line for each reminder, in the order in which each was first said."""
    found: dict[ReminderKey, list[ReminderTurn]] = {}
    for turn in told.leg.reminders:
        found.setdefault(turn.key, []).append(turn)
    return [_line(told, key, turns) for key, turns in found.items()]


def _line(told: Telling, key: ReminderKey, turns: list[ReminderTurn]) -> str:
    """What it was about, since when, and each thing that became of it."""
    about = f", {key.about}" if key.about else ""
    name = f"{key.rule[0].upper()}{key.rule[1:]}{about}"
    answered = any(turn.became != "said" for turn in turns)
    silent = "" if answered else "; not answered"
    became = "; ".join(_turn(told, turn) for turn in turns)
    return f"{name}, since {told.time(key.since)}: {became}{silent}."


def _turn(told: Telling, turn: ReminderTurn) -> str:
    until = "" if turn.until is None else f" until {told.time(turn.until)}"
    return f"{turn.became} {told.time(turn.at)}{until}"
