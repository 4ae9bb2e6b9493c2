"""One turn of the talk, and what the transitions have in common."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

from voice.dialogue.actions import Action, Answer, Say
from voice.dialogue.state import DialogueState, StateName, Taken
from voice.entries.said import Correction

if TYPE_CHECKING:
    from collections.abc import Iterable

    from voice.dialogue.events import Event
    from voice.dialogue.words import Words

ANSWER_WITHIN_S = 12.0
"""Silence after our own words for which an answer is waited for (common practice, no source:
time enough to finish a movement of the hands, short enough to remember what was said)."""

Step = tuple[DialogueState, tuple[Action, ...]]


@dataclass(frozen=True, slots=True)
class Turn:
    """What a transition works from."""

    state: DialogueState
    event: Event
    at_s: float
    words: Words

    @property
    def silent(self) -> bool:
        """Whether the nurse has been silent for so long that no answer is waited for any more."""
        return self.at_s - self.state.quiet_since_s >= ANSWER_WITHIN_S


class Transition(Protocol):
    """What happens in a state on an event; its docstring is the text of the drawn table."""

    __name__: str
    __doc__: str | None

    def __call__(self, turn: Turn) -> Step:
        """Give the state after and what is to be done."""


def leave(turn: Turn) -> tuple[DialogueState, str]:
    """Without what waits, is gone through or is asked, and what is to be said of what waited."""
    state = replace(
        turn.state, name=StateName.LISTENING, waiting=(), offered=None, misses=0, review=None
    )
    if not turn.state.waiting:
        return state, ""
    return state, f"{read_back(turn, turn.state.waiting)}: unconfirmed. "


def speak(state: DialogueState, text: str) -> tuple[DialogueState, Say]:
    """Say something that "say again" will repeat."""
    say = Say(text)
    return replace(state, said=say), say


def await_confirm(state: DialogueState, taken: tuple[Taken, ...]) -> DialogueState:
    """All of ``taken`` has been read back: "confirm" is for it."""
    return replace(
        state,
        name=StateName.CONFIRMING,
        waiting=taken,
        read=tuple(one.number for one in taken),
        offered=None,
        misses=0,
    )


def open_words(turn: Turn) -> str | None:
    """What the nurse is waited for with: the read-back or the question, if there is one."""
    if turn.state.offered is not None:
        return turn.words.question(*turn.state.offered)
    if turn.state.name is StateName.CHECKING and turn.state.check is not None:
        item = turn.state.check.next_item(turn.state.taken)
        return None if item is None else item.ask
    if turn.state.waiting:
        return read_back(turn, turn.state.waiting)
    return None


def aside(turn: Turn, said: Say | Answer, *before: Action) -> Step:
    """Say something in between, then again what is waited for: "confirm" must follow that."""
    state = replace(turn.state, said=said, misses=0, quiet_since_s=turn.at_s)
    again = open_words(turn)
    return state, (*before, said) if again is None else (*before, said, Say(again))


def read_back(turn: Turn, taken: Iterable[Taken]) -> str:
    """Entries in words, one after the other."""
    return "; ".join(turn.words.read_back(one.statement) for one in taken)


def read_back_new(turn: Turn, taken: Iterable[Taken]) -> str:
    """Entries that have just been said: one that corrects another says so."""
    return "; ".join(
        turn.words.read_back(
            one.statement if one.corrects is None else Correction(statement=one.statement)
        )
        for one in taken
    )
