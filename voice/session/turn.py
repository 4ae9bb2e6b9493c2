"""What the talk asks for, as the tones and sentences that are heard: one turn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.dialogue.actions import Action, Answer, Remark, Say, Sound, Tone, When
from voice.report.answers import answer, when
from voice.session.reminders import spoken_remarks

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import datetime

    from voice.entries.leg import Leg
    from voice.report.answers.asking import Programme


def turn_of(
    actions: Iterable[Action], leg: Callable[[], Leg], now: datetime, programme: Programme
) -> list[Tone | str]:
    """The turn, in order; ``leg`` is asked for only where an action speaks of it."""
    turn: list[Tone | str] = []
    for action in actions:
        match action:
            case Sound(tone=tone):
                turn.append(tone)
            case Say(text=text):
                turn.append(text)
            case Remark(number=number):
                said = spoken_remarks(leg(), number, now)
                turn += [sentence for sentence in said if sentence not in turn]
            case When(number=number):
                turn.append(when(leg(), number))
            case Answer(question=question, part=part):
                turn.append(answer(question, leg(), now, part, programme))
    return turn
