"""What the program reminded of, what became of it, and whether its cause lasts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.figures.reminding import causes

if TYPE_CHECKING:
    from voice.entries.reminder import ReminderKey, ReminderTurn
    from voice.report.telling import Telling


def reminders(told: Telling) -> list[str]:
    """A line for each reminder, in the order in which each was first said."""
    return [_line(told, key, turns) for key, turns in _found(told).items()]


def still_so(told: Telling) -> list[str]:
    """The lines of those reminders whose cause is known to last, and how many others there were."""
    found = _found(told)
    lasting = [key for key in found if _end(told, key) == _STILL_SO]
    others = len(found) - len(lasting)
    more = [f"Others, over or changed: {others}."] if lasting and others else []
    return [*(_line(told, key, found[key]) for key in lasting), *more]


def _found(told: Telling) -> dict[ReminderKey, list[ReminderTurn]]:
    found: dict[ReminderKey, list[ReminderTurn]] = {}
    for turn in told.leg.reminders:
        found.setdefault(turn.key, []).append(turn)
    return found


def _line(told: Telling, key: ReminderKey, turns: list[ReminderTurn]) -> str:
    """What it was about, since when, each thing that became of it, and whether that is over."""
    about = f", {key.about}" if key.about else ""
    name = f"{key.rule[0].upper()}{key.rule[1:]}{about}"
    answered = any(turn.became != "said" for turn in turns)
    silent = "" if answered else "; not answered"
    became = "; ".join(_turn(told, turn) for turn in turns)
    return f"{name}, since {told.time(key.since)}: {became}{silent}{_end(told, key)}."


def _turn(told: Telling, turn: ReminderTurn) -> str:
    until = "" if turn.until is None else f" until {told.time(turn.until)}"
    return f"{turn.became} {told.time(turn.at)}{until}"


_STILL_SO = "; still so"


def _end(told: Telling, key: ReminderKey) -> str:
    """Nothing where it is not known: a cause that was put right, or told to the full, is not found."""
    cause = causes(told.leg).get(key)
    if cause is None:
        return ""
    if cause.until is None or told.until < cause.until:
        return _STILL_SO
    return f"; over {told.time(cause.until)}"
