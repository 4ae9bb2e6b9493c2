"""Transitions: going on in a long answer, and reading through what is unconfirmed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from voice.dialogue.actions import Answer, Say, When
from voice.dialogue.turn import aside, await_confirm, leave, read_back, speak

if TYPE_CHECKING:
    from voice.dialogue.actions import Action
    from voice.dialogue.state import DialogueState, Taken
    from voice.dialogue.turn import Step, Turn


def read_unconfirmed(turn: Turn) -> Step:
    """Reads the first entry that is unconfirmed, to be confirmed, corrected or taken out; more follow."""
    state, _ = leave(turn)
    numbers = tuple(taken.number for taken in state.taken if not taken.confirmed)
    if not numbers:
        state, say = speak(state, "nothing is unconfirmed")
        return state, (say,)
    count = f"{turn.words.number(len(numbers))} unconfirmed"
    return read_through(turn, replace(state, review=numbers), (Say(count),))


def read_on(turn: Turn) -> Step:
    """Tells the next part of the answer; what is read to be confirmed is left, and the next read."""
    if turn.state.review is not None:
        state, _ = leave(turn)
        state = replace(state, review=turn.state.review)
        return read_through(turn, state, (Say("left unconfirmed"),))
    if turn.state.reading is None:
        return aside(turn, Say("nothing to go on with"))
    reading = turn.state.reading
    further = Answer(reading.question, reading.part + 1)
    state, actions = aside(turn, further)
    return replace(state, reading=further), actions


def stop_reading(turn: Turn) -> Step:
    """Reads no more; an entry that was read to be confirmed stays unconfirmed."""
    if turn.state.review is not None:
        state, left = leave(turn)
        state, say = speak(state, f"{left}stopped")
        return state, (say,)
    state, actions = aside(turn, Say("stopped"))
    return replace(state, reading=None), actions


def read_through(turn: Turn, state: DialogueState, before: tuple[Action, ...]) -> Step:
    """After ``before``, read the next entry of those that are unconfirmed, if they are being read."""
    if state.review is None:
        return state, before
    left = [one for one in state.taken if one.number in state.review and not one.confirmed]
    if not left:
        state, say = speak(replace(state, review=None), "all read")
        return state, (*before, say)
    taken, *later = left
    review = tuple(one.number for one in later)
    state = replace(state, review=review, quiet_since_s=turn.at_s)
    state, say = speak(await_confirm(state, (taken,)), read_back(turn, (taken,)))
    return state, (*before, *when(taken), say)


def when(taken: Taken) -> tuple[When, ...]:
    """Says when an entry happened, where its read-back does not."""
    return () if taken.statement.when is not None else (When(taken.number),)
