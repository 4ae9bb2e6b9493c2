"""Transitions: legs begin and end, and the talk stands by."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from voice.dialogue.actions import EndLeg, Say, Sound, StartLeg, Tone
from voice.dialogue.state import DialogueState, StateName
from voice.dialogue.turn import aside, leave, speak
from voice.entries.kinds.leg import HandedOver, LegMark

if TYPE_CHECKING:
    from voice.dialogue.turn import Step, Turn

END_ASKED = Say("not handed over yet; to end the leg say end leg again")
"""Two words are soon misheard, and a leg that has ended takes no entry: before its time it is ended by two of them."""
OVER = {
    "handed over",
    "transport cancelled",
    "transport completed",
    "back in service",
    "back at base",
}
"""Marks after which nobody expects another entry of the leg."""
STANDS_BY_S = 15 * 60.0
"""How long it stands by before it says that it still does, and from then to the next time (common
practice, no source: the usual time between two readings, so that few entries are said in vain)."""


def ignore(turn: Turn) -> Step:
    """Nothing."""
    return turn.state, ()


def start(turn: Turn) -> Step:
    """The leg starts; the unit of pressures is said."""
    state, say = speak(
        DialogueState(StateName.LISTENING),
        f"leg started, pressures in {turn.words.pressure_unit}",
    )
    return state, (StartLeg(), Sound(Tone.HEARD), say)


def no_leg(turn: Turn) -> Step:
    """Not taken; says that there is no leg."""
    state, say = speak(turn.state, "no leg; say start leg")
    return state, (Sound(Tone.NOT_UNDERSTOOD), say)


def standing_by(turn: Turn) -> Step:
    """Not taken; says that it stands by."""
    state, say = speak(turn.state, "standing by; say resume")
    return state, (Sound(Tone.NOT_UNDERSTOOD), say)


def resume(turn: Turn) -> Step:
    """Listens again."""
    state, say = speak(replace(turn.state, name=StateName.LISTENING), "listening")
    return state, (Sound(Tone.HEARD), say)


def already_listening(turn: Turn) -> Step:
    """Says that it listens; reads the waiting entry back again."""
    return aside(turn, Say("listening"))


def already_started(turn: Turn) -> Step:
    """Says that the leg runs; reads the waiting entry back again."""
    return aside(turn, Say("the leg has started"))


def stand_by(turn: Turn) -> Step:
    """Goes deaf to all but "resume"; a waiting entry stays unconfirmed."""
    state, left = leave(turn)
    state = replace(state, name=StateName.STANDING_BY, quiet_since_s=turn.at_s)
    state, say = speak(state, f"{left}standing by")
    return state, (say,)


def still_standing_by(turn: Turn) -> Step:
    """Every 15 minutes: says that it still stands by, in case that was forgotten."""
    if turn.at_s - turn.state.quiet_since_s < STANDS_BY_S:
        return turn.state, ()
    state = replace(turn.state, quiet_since_s=turn.at_s)
    state, say = speak(state, "still standing by; say resume")
    return state, (say,)


def end(turn: Turn) -> Step:
    """The leg ends; says how many entries are unconfirmed. Before the handover, only when it is said twice within 12 s."""
    asked = turn.state.said == END_ASKED and not turn.silent
    if turn.state.taken and not asked and not _over(turn.state):
        return aside(turn, END_ASKED)
    open_count = sum(not taken.confirmed for taken in turn.state.taken)
    told = "all confirmed" if open_count == 0 else f"{open_count} unconfirmed"
    state, say = speak(DialogueState(), f"leg ended, {told}")
    return state, (EndLeg(), say)


def _over(state: DialogueState) -> bool:
    """Whether it was told that somebody else has the patient, or that nobody travels any more."""
    return any(
        isinstance(entry, HandedOver) or (isinstance(entry, LegMark) and entry.mark in OVER)
        for entry in (taken.statement.entry for taken in state.taken)
    )
