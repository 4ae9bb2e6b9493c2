"""Transitions: notes, questions to the leg, and what is said in between."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from voice.dialogue.actions import (
    Answer,
    Say,
    Sound,
    Tone,
)
from voice.dialogue.events import HalfHeard, QuestionHeard, SaidOver, Trouble
from voice.dialogue.state import StateName
from voice.dialogue.turn import (
    aside,
    await_confirm,
    leave,
    open_words,
    read_back,
    speak,
)
from voice.entries.said import About, Question
from voice.meaning.unfinished import Lacks

if TYPE_CHECKING:
    from voice.dialogue.turn import Step, Turn


def take_note(turn: Turn) -> Step:
    """The next words are kept as sound; a waiting entry stays unconfirmed."""
    state, left = leave(turn)
    state = replace(state, name=StateName.NOTING, quiet_since_s=turn.at_s)
    state, say = speak(state, f"{left}speak your note")
    return state, (say, Sound(Tone.HEARD))


def drop_note(turn: Turn) -> Step:
    """After 12 s of silence: there is no note, and that is said."""
    if not turn.silent:
        return turn.state, ()
    state, say = speak(replace(turn.state, name=StateName.LISTENING), "no note")
    return state, (say,)


def say_again(turn: Turn) -> Step:
    """Says the read-back, the question or the last words again."""
    again = open_words(turn)
    action = turn.state.said if again is None else Say(again)
    state = replace(turn.state, misses=0, quiet_since_s=turn.at_s)
    return state, (action or Say("nothing said yet"),)


def read_last(turn: Turn) -> Step:
    """Tells the newest entry; an unconfirmed one is read back as well, so that it can be confirmed.

    What else waits stays unconfirmed, and that is said.
    """
    answer = Answer(Question(about=About.LAST_ENTRY))
    state, _ = leave(turn)
    last = state.taken[-1:]
    left = [one for one in turn.state.waiting if one not in last]
    told = (Say(f"{read_back(turn, left)}: unconfirmed"),) if left else ()
    read = tuple(one.number for one in last)
    state = replace(state, said=answer, read=read, quiet_since_s=turn.at_s)
    if not last or last[0].confirmed:
        return state, (*told, answer)
    return await_confirm(state, last), (*told, answer, Say(read_back(turn, last)))


def total_out(turn: Turn) -> Step:
    """Says what has drained; reads the waiting entry back again."""
    return aside(turn, Answer(Question(about=About.TOTAL_OUTPUT)))


def ask(turn: Turn) -> Step:
    """Answers the question; reads the waiting entry back again."""
    assert isinstance(turn.event, QuestionHeard)
    answer = Answer(turn.event.question)
    state, actions = aside(turn, answer)
    return replace(state, reading=answer), actions


def ask_again(turn: Turn) -> Step:
    """A tone; the second time in a row, words; then tones only."""
    misses = turn.state.misses + 1
    state = replace(turn.state, misses=misses)
    if misses != 2:
        return state, (Sound(Tone.NOT_UNDERSTOOD),)
    again = open_words(turn)
    words = "say again" if again is None else f"not understood. {again}"
    return replace(state, quiet_since_s=turn.at_s), (Sound(Tone.NOT_UNDERSTOOD), Say(words))


def ask_for_rest(turn: Turn) -> Step:
    """Says what broke off and asks for its rest; a time alone is not taken, and that is said."""
    assert isinstance(turn.event, HalfHeard)
    match turn.event:
        case HalfHeard(lacks=Lacks.ENTRY):
            sentence = "the time was not taken; say it with its entry"
        case HalfHeard(text=text, lacks=Lacks.NUMBER, given_up=False):
            sentence = f"{text}: how much?"
        case HalfHeard(text=text, given_up=False):
            sentence = f"{text}: not taken; say all of it"
        case HalfHeard(text=text):
            sentence = f"{text}: not taken"
    return aside(turn, Say(sentence))


def not_taken(turn: Turn) -> Step:
    """Says what was not taken, and to say it again; then the open read-back or question again."""
    assert isinstance(turn.event, SaidOver)
    return aside(turn, Say(f"{turn.event.text}: not taken; say it again"))


def tell_trouble(turn: Turn) -> Step:
    """Says what is wrong; then the open read-back or question again."""
    assert isinstance(turn.event, Trouble)
    return aside(turn, Say(turn.event.sentence), Sound(Tone.TROUBLE))


def wait(turn: Turn) -> Step:
    """The silence counts from now."""
    return replace(turn.state, quiet_since_s=turn.at_s), ()


def not_spoken(turn: Turn) -> Step:
    """Only a tone can tell."""
    return turn.state, (Sound(Tone.TROUBLE),)


def not_read_back(turn: Turn) -> Step:
    """What waits was never read back or asked: it stays unconfirmed, a check ends, and a tone tells."""
    state, _ = leave(turn)
    return replace(state, check=None), (Sound(Tone.TROUBLE),)
