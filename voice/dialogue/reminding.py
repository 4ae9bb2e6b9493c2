"""Transitions: reminders are said, acknowledged and postponed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from voice.dialogue.actions import Remind, Say
from voice.dialogue.events import CommandHeard, Reminder
from voice.dialogue.turn import aside

if TYPE_CHECKING:
    from voice.dialogue.turn import Step, Turn
    from voice.entries.reminder import ReminderKey

LATER_MIN = 10
"""For how many minutes a reminder is postponed where no number was said (common practice, no
source)."""


def remind(turn: Turn) -> Step:
    """Says what is due; then the open read-back or question again."""
    assert isinstance(turn.event, Reminder)
    key, sentence = turn.event.key, turn.event.sentence
    state, actions = aside(turn, Say(sentence))
    return replace(state, reminded=key), (Remind(key, "said", sentence), *actions)


def acknowledge(turn: Turn) -> Step:
    """Notes that the reminder that was said last was heard, and names it: it does not come again."""
    assert isinstance(turn.event, CommandHeard)
    key = turn.state.reminded
    if key is None:
        return aside(turn, Say("no reminder to answer"))
    state, actions = aside(turn, Say(f"noted: {_name(key)}"))
    record = Remind(key, "acknowledged", turn.event.talk.value)
    return replace(state, reminded=None), (record, *actions)


def postpone(turn: Turn) -> Step:
    """Puts the reminder that was said last off, by 10 minutes or as many as were said, and names it."""
    assert isinstance(turn.event, CommandHeard)
    key = turn.state.reminded
    if key is None:
        return aside(turn, Say("no reminder to answer"))
    minutes = turn.event.minutes or LATER_MIN
    told = f"{_name(key)}: again in {turn.words.number(minutes)} minutes"
    state, actions = aside(turn, Say(told))
    record = Remind(key, "postponed", turn.event.talk.value, minutes)
    return replace(state, reminded=None), (record, *actions)


def _name(key: ReminderKey) -> str:
    return key.rule if key.about is None else f"{key.rule}, {key.about}"
