"""The talk itself: what happens in each state on each event.

``step`` is the whole of it: a pure function that looks up one transition in ``TABLE``. The table
is drawn in ``docs/dialogue.md`` by ``python -m voice.dialogue.draw``.

Three rules hold throughout:

* An entry is written down, as unconfirmed, before it is read back: nothing said is lost.
* Only "confirm" confirms, and only what was read back last. Silence or a new entry leaves the
  waiting one unconfirmed, and that is said.
* Nothing is taken away or replaced without saying what.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

from voice.dialogue.actions import (
    Action,
    Answer,
    Confirm,
    EndLeg,
    Keep,
    Remark,
    Say,
    Sound,
    StartLeg,
    Tone,
    Withdraw,
)
from voice.dialogue.events import (
    ChoiceHeard,
    CommandHeard,
    CorrectionHeard,
    Event,
    Kind,
    NoteHeard,
    QuestionHeard,
    Reminder,
    StatementHeard,
    Trouble,
    TwoHeard,
    heard_as_event,
)
from voice.dialogue.state import DialogueState, StateName, Taken, subject_of
from voice.entries.kinds.leg import SpokenNote
from voice.entries.said import About, Correction, Question, Statement, Talk

if TYPE_CHECKING:
    from collections.abc import Mapping

    from voice.dialogue.words import Words
    from voice.meaning.decision import Heard

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


class Transition(Protocol):
    """What happens in a state on an event; its docstring is the text of the drawn table."""

    __name__: str
    __doc__: str | None

    def __call__(self, turn: Turn) -> Step:
        """Give the state after and what is to be done."""


def step(state: DialogueState, event: Event, at_s: float, words: Words) -> Step:
    """The state after ``event``, and what is to be done, in order.

    ``at_s`` is the event's time on the source's clock, in s: for what was heard, the end of the
    speech; for ``FellSilent``, the end of our own sound.
    """
    return TABLE[state.name, event.kind](Turn(state, event, at_s, words))


# --- what the transitions have in common -------------------------------------------------------


def _leave(turn: Turn) -> tuple[DialogueState, str]:
    """Without the waiting entry or the open question, and what is to be said of the entry."""
    state = replace(turn.state, name=StateName.LISTENING, waiting=None, offered=None, misses=0)
    waiting = turn.state.waiting
    if waiting is None:
        return state, ""
    return state, f"{turn.words.read_back(waiting.statement)}: unconfirmed. "


def _speak(state: DialogueState, text: str) -> tuple[DialogueState, Say]:
    """Say something that "say again" will repeat."""
    say = Say(text)
    return replace(state, said=say), say


def _await_confirm(state: DialogueState, taken: Taken) -> DialogueState:
    """``taken`` has been read back: "confirm" is for it."""
    return replace(state, name=StateName.CONFIRMING, waiting=taken, offered=None, misses=0)


def _open_words(turn: Turn) -> str | None:
    """What the nurse is waited for with: the read-back or the question, if there is one."""
    if turn.state.offered is not None:
        return turn.words.question(*turn.state.offered)
    if turn.state.waiting is not None:
        return turn.words.read_back(turn.state.waiting.statement)
    return None


def _aside(turn: Turn, said: Say | Answer, *before: Action) -> Step:
    """Say something in between, then again what is waited for: "confirm" must follow that."""
    state = replace(turn.state, said=said, misses=0, quiet_since_s=turn.at_s)
    again = _open_words(turn)
    return state, (*before, said) if again is None else (*before, said, Say(again))


def _read_back(turn: Turn, taken: Taken) -> str:
    if taken.corrects is None:
        return turn.words.read_back(taken.statement)
    return turn.words.read_back(Correction(statement=taken.statement))


# --- no leg, or standing by --------------------------------------------------------------------


def ignore(turn: Turn) -> Step:
    """Nothing."""
    return turn.state, ()


def start(turn: Turn) -> Step:
    """The leg starts; the unit of pressures is said."""
    state, say = _speak(
        DialogueState(StateName.LISTENING),
        f"leg started, pressures in {turn.words.pressure_unit}",
    )
    return state, (StartLeg(), Sound(Tone.HEARD), say)


def no_leg(turn: Turn) -> Step:
    """Not taken; says that there is no leg."""
    state, say = _speak(turn.state, "no leg; say start leg")
    return state, (Sound(Tone.NOT_UNDERSTOOD), say)


def standing_by(turn: Turn) -> Step:
    """Not taken; says that it stands by."""
    state, say = _speak(turn.state, "standing by; say resume")
    return state, (Sound(Tone.NOT_UNDERSTOOD), say)


def resume(turn: Turn) -> Step:
    """Listens again."""
    state, say = _speak(replace(turn.state, name=StateName.LISTENING), "listening")
    return state, (Sound(Tone.HEARD), say)


def already_listening(turn: Turn) -> Step:
    """Says that it listens; reads the waiting entry back again."""
    return _aside(turn, Say("listening"))


def already_started(turn: Turn) -> Step:
    """Says that the leg runs; reads the waiting entry back again."""
    return _aside(turn, Say("the leg has started"))


def stand_by(turn: Turn) -> Step:
    """Goes deaf to all but "resume"; a waiting entry stays unconfirmed."""
    state, left = _leave(turn)
    state, say = _speak(replace(state, name=StateName.STANDING_BY), f"{left}standing by")
    return state, (say,)


def end(turn: Turn) -> Step:
    """The leg ends; says how many entries are unconfirmed."""
    open_count = sum(not taken.confirmed for taken in turn.state.taken)
    told = "all confirmed" if open_count == 0 else f"{open_count} unconfirmed"
    state, say = _speak(DialogueState(), f"leg ended, {told}")
    return state, (EndLeg(), say)


# --- entries -----------------------------------------------------------------------------------


def keep(turn: Turn) -> Step:
    """Keeps the entry as unconfirmed and reads it back; one still waiting stays unconfirmed."""
    assert isinstance(turn.event, StatementHeard | NoteHeard)
    if isinstance(turn.event, NoteHeard):
        text, statement = "", Statement(entry=SpokenNote())
    else:
        text, statement = turn.event.text, turn.event.statement
    state, left = _leave(turn)
    return _keep(turn, state, text, Taken(state.next_number, statement), left)


def correct(turn: Turn) -> Step:
    """Keeps the entry in place of the last one of its kind and reads it back."""
    assert isinstance(turn.event, CorrectionHeard)
    statement = turn.event.statement
    old = _to_correct(turn.state.taken, statement)
    state, left = _leave(turn)
    if old is not None and old == turn.state.waiting:
        left = ""  # it is replaced, so nothing of it stays
    if old is None:
        left += "nothing to correct, new entry: "
    elif old != turn.state.taken[-1] or old.subject != subject_of(statement.entry):
        left += f"in place of {turn.words.read_back(old.statement)}: "
    return _keep(
        turn, state, turn.event.text, Taken(state.next_number, statement, corrects=old), left
    )


def _to_correct(taken: tuple[Taken, ...], statement: Statement) -> Taken | None:
    """The last entry, if of the same kind; else the last one about the same thing.

    Side or drug of the entry just said may be what was wrong; of an earlier one it tells which
    entry is meant.
    """
    if taken and taken[-1].statement.entry.kind == statement.entry.kind:
        return taken[-1]
    subject = subject_of(statement.entry)
    return next((old for old in reversed(taken) if old.subject == subject), None)


def _keep(turn: Turn, state: DialogueState, text: str, new: Taken, before: str) -> Step:
    old = new.corrects
    state = _await_confirm(state.with_taken(new, without=old), new)
    state = replace(state, next_number=new.number + 1, quiet_since_s=turn.at_s)
    state, say = _speak(state, before + _read_back(turn, new))
    replaces = None if old is None else old.number
    return state, (Keep(new.number, text, new.statement, replaces), Remark(new.number), say)


def confirm(turn: Turn) -> Step:
    """Confirms the entry that was read back."""
    waiting = turn.state.waiting
    assert waiting is not None
    state, _ = _leave(turn)
    state = state.with_taken(replace(waiting, confirmed=True))
    return state, (Confirm(waiting.number), Sound(Tone.KEPT))


def nothing_to_confirm(turn: Turn) -> Step:
    """Says that nothing is waiting."""
    state, say = _speak(replace(turn.state, misses=0), "nothing to confirm")
    return state, (say,)


def refuse(turn: Turn) -> Step:
    """Takes the waiting entry out and asks to say it again; what it corrected stands again."""
    assert turn.state.waiting is not None
    return _withdraw(turn, turn.state.waiting, "taken out", "; say it again")


def too_late(turn: Turn) -> Step:
    """Nothing waits: if the last entry is unconfirmed, says how it is taken out."""
    if not turn.state.taken or turn.state.taken[-1].confirmed:
        return turn.state, ()
    last = turn.words.read_back(turn.state.taken[-1].statement)
    state, say = _speak(
        replace(turn.state, misses=0), f"{last}: unconfirmed; to take it out say scratch that"
    )
    return state, (say,)


def scratch(turn: Turn) -> Step:
    """Takes the last entry out, confirmed or not, and says which; what it corrected stands again."""
    if not turn.state.taken:
        state, say = _speak(replace(turn.state, misses=0), "nothing to take out")
        return state, (say,)
    last = turn.state.taken[-1]
    return _withdraw(turn, last, f"taken out: {turn.words.read_back(last.statement)}", "")


def _withdraw(turn: Turn, taken: Taken, told: str, then: str) -> Step:
    assert isinstance(turn.event, CommandHeard)
    state, _ = _leave(turn)
    state = state.with_taken(without=taken)
    if taken.corrects is not None:
        state = state.with_taken(taken.corrects)
        told += f". {turn.words.read_back(taken.corrects.statement)}: stands again"
    state, say = _speak(state, told + then)
    return state, (Withdraw(taken.number, turn.event.talk.value), say)


def leave_unconfirmed(turn: Turn) -> Step:
    """After 12 s of silence: the entry stays unconfirmed, and that is said."""
    if turn.at_s - turn.state.quiet_since_s < ANSWER_WITHIN_S:
        return turn.state, ()
    state, left = _leave(turn)
    state, say = _speak(state, left.rstrip())
    return state, (say,)


# --- two readings ------------------------------------------------------------------------------


def offer(turn: Turn) -> Step:
    """Asks which of the two was said."""
    assert isinstance(turn.event, TwoHeard)
    offered = (turn.event.first, turn.event.second)
    state = replace(turn.state, name=StateName.CHOOSING, offered=offered, misses=0)
    state, say = _speak(replace(state, quiet_since_s=turn.at_s), turn.words.question(*offered))
    return state, (say,)


def choose(turn: Turn) -> Step:
    """Takes the reading that was chosen as if it had been heard alone."""
    chosen = _chosen(turn)
    if chosen is None:
        return ask_again(turn)
    name = StateName.LISTENING if turn.state.waiting is None else StateName.CONFIRMING
    return step(
        replace(turn.state, name=name, offered=None), heard_as_event(chosen), turn.at_s, turn.words
    )


def _chosen(turn: Turn) -> Heard | None:
    """The reading that was named by its place or, by a value that it alone holds, itself."""
    assert turn.state.offered is not None
    first, second = turn.state.offered
    match turn.event:
        case CommandHeard(talk=talk):
            return first if talk is Talk.FIRST else second
        case ChoiceHeard(value=value):
            named = [heard for heard in (first, second) if abs(value) in _values(heard)]
            return named[0] if len(named) == 1 else None
    raise AssertionError(turn.event)


def _values(heard: Heard) -> set[float]:
    """Sizes of all numbers in a reading; "below" may stand for a minus sign."""
    match heard.meaning:
        case (
            Statement(entry=entry, when=when)
            | Correction(statement=Statement(entry=entry, when=when))
        ):
            fields = [*dict(entry).values(), *(dict(when).values() if when else ())]
            return {abs(value) for value in fields if type(value) in {int, float}}
    return set()


def only_the_choice(turn: Turn) -> Step:
    """A tone: an entry that is said now is not taken, and the nurse must know."""
    return turn.state, (Sound(Tone.NOT_UNDERSTOOD),)


def drop_question(turn: Turn) -> Step:
    """Takes neither and asks to say it again; a waiting entry stays unconfirmed."""
    state, left = _leave(turn)
    state, say = _speak(state, f"{left}neither taken; say it again")
    return state, (say,)


def drop_question_late(turn: Turn) -> Step:
    """After 12 s of silence: takes neither and says so; a waiting entry stays unconfirmed."""
    if turn.at_s - turn.state.quiet_since_s < ANSWER_WITHIN_S:
        return turn.state, ()
    return drop_question(turn)


# --- notes -------------------------------------------------------------------------------------


def take_note(turn: Turn) -> Step:
    """The next words are kept as sound; a waiting entry stays unconfirmed."""
    state, left = _leave(turn)
    state = replace(state, name=StateName.NOTING, quiet_since_s=turn.at_s)
    state, say = _speak(state, f"{left}speak your note")
    return state, (say, Sound(Tone.HEARD))


def drop_note(turn: Turn) -> Step:
    """After 12 s of silence: there is no note, and that is said."""
    if turn.at_s - turn.state.quiet_since_s < ANSWER_WITHIN_S:
        return turn.state, ()
    state, say = _speak(replace(turn.state, name=StateName.LISTENING), "no note")
    return state, (say,)


# --- asking back -------------------------------------------------------------------------------


def say_again(turn: Turn) -> Step:
    """Says the read-back, the question or the last words again."""
    again = _open_words(turn)
    action = turn.state.said if again is None else Say(again)
    state = replace(turn.state, misses=0, quiet_since_s=turn.at_s)
    return state, (action or Say("nothing said yet"),)


def read_last(turn: Turn) -> Step:
    """Tells the last entry; an unconfirmed one is read back as well, so that it can be confirmed."""
    answer = Answer(Question(about=About.LAST_ENTRY))
    state, _ = _leave(turn)
    state = replace(state, said=answer, quiet_since_s=turn.at_s)
    if not state.taken or state.taken[-1].confirmed:
        return state, (answer,)
    last = state.taken[-1]
    return _await_confirm(state, last), (answer, Say(turn.words.read_back(last.statement)))


def total_out(turn: Turn) -> Step:
    """Says what has drained; reads the waiting entry back again."""
    return _aside(turn, Answer(Question(about=About.TOTAL_OUTPUT)))


def ask(turn: Turn) -> Step:
    """Answers the question; reads the waiting entry back again."""
    assert isinstance(turn.event, QuestionHeard)
    return _aside(turn, Answer(turn.event.question))


def ask_again(turn: Turn) -> Step:
    """A tone; the second time in a row, words; then tones only."""
    misses = turn.state.misses + 1
    state = replace(turn.state, misses=misses)
    if misses != 2:
        return state, (Sound(Tone.NOT_UNDERSTOOD),)
    again = _open_words(turn)
    words = "say again" if again is None else f"not understood. {again}"
    return replace(state, quiet_since_s=turn.at_s), (Sound(Tone.NOT_UNDERSTOOD), Say(words))


def tell_trouble(turn: Turn) -> Step:
    """Says what is wrong; then the open read-back or question again."""
    assert isinstance(turn.event, Trouble)
    return _aside(turn, Say(turn.event.sentence), Sound(Tone.TROUBLE))


def remind(turn: Turn) -> Step:
    """Says what is due; then the open read-back or question again."""
    assert isinstance(turn.event, Reminder)
    return _aside(turn, Say(turn.event.sentence))


def wait(turn: Turn) -> Step:
    """The silence counts from now."""
    return replace(turn.state, quiet_since_s=turn.at_s), ()


def not_spoken(turn: Turn) -> Step:
    """Only a tone can tell."""
    return turn.state, (Sound(Tone.TROUBLE),)


def not_read_back(turn: Turn) -> Step:
    """What waits was never read back: it stays unconfirmed, and only a tone can tell."""
    state, _ = _leave(turn)
    return state, (Sound(Tone.TROUBLE),)


# --- the table ---------------------------------------------------------------------------------

LEADS_TO: Mapping[Transition, StateName] = {
    start: StateName.LISTENING,
    resume: StateName.LISTENING,
    stand_by: StateName.STANDING_BY,
    end: StateName.ASLEEP,
    keep: StateName.CONFIRMING,
    correct: StateName.CONFIRMING,
    confirm: StateName.LISTENING,
    refuse: StateName.LISTENING,
    scratch: StateName.LISTENING,
    leave_unconfirmed: StateName.LISTENING,
    offer: StateName.CHOOSING,
    choose: StateName.CONFIRMING,
    drop_question: StateName.LISTENING,
    drop_question_late: StateName.LISTENING,
    take_note: StateName.NOTING,
    drop_note: StateName.LISTENING,
    not_read_back: StateName.LISTENING,
    read_last: StateName.CONFIRMING,
}
"""Where a transition may lead; those that are not named here always stay."""


def _table(
    rows: Mapping[Kind | Talk, tuple[Transition, ...]],
) -> dict[tuple[StateName, Kind | Talk], Transition]:
    return {
        (name, kind): transition
        for kind, row in rows.items()
        for name, transition in zip(StateName, row, strict=True)
    }


# fmt: off
TABLE = _table({
    # ASLEEP, STANDING_BY, LISTENING, CONFIRMING, CHOOSING, NOTING
    Talk.START_LEG:
        (start, standing_by, already_started, already_started, ignore, ignore),
    Talk.END_LEG:
        (no_leg, ignore, end, end, ignore, ignore),
    Kind.STATEMENT:
        (no_leg, ignore, keep, keep, ignore, ignore),
    Kind.CORRECTION:
        (no_leg, ignore, correct, correct, ignore, ignore),
    Talk.CONFIRM:
        (no_leg, ignore, nothing_to_confirm, confirm, ignore, ignore),
    Talk.NO:
        (too_late, ignore, too_late, refuse, drop_question, ignore),
    Talk.SCRATCH_THAT:
        (no_leg, ignore, scratch, scratch, drop_question, ignore),
    Kind.TWO_READINGS:
        (no_leg, ignore, offer, offer, ask_again, ignore),
    Talk.FIRST:
        (ignore, ignore, ignore, ignore, choose, ignore),
    Talk.SECOND:
        (ignore, ignore, ignore, ignore, choose, ignore),
    Kind.CHOICE:
        (ignore, ignore, ignore, ignore, choose, ignore),
    Talk.SAY_AGAIN:
        (no_leg, ignore, say_again, say_again, say_again, ignore),
    Talk.READ_LAST:
        (no_leg, ignore, read_last, read_last, ignore, ignore),
    Talk.TOTAL_OUT:
        (no_leg, ignore, total_out, total_out, ignore, ignore),
    Kind.QUESTION:
        (no_leg, ignore, ask, ask, ignore, ignore),
    Talk.TAKE_NOTE:
        (no_leg, ignore, take_note, take_note, ignore, ignore),
    Kind.NOTE:
        (ignore, ignore, ignore, ignore, ignore, keep),
    Talk.STAND_BY:
        (no_leg, ignore, stand_by, stand_by, ignore, ignore),
    Talk.RESUME:
        (no_leg, resume, already_listening, already_listening, ignore, ignore),
    Kind.UNCLEAR:
        (ask_again, ignore, ask_again, ask_again, ask_again, ignore),
    Kind.OTHER_SPEECH:
        (ignore, ignore, ignore, ignore, only_the_choice, ignore),
    Kind.FELL_SILENT:
        (ignore, ignore, ignore, wait, wait, wait),
    Kind.TIME_PASSED:
        (ignore, ignore, ignore, leave_unconfirmed, drop_question_late, drop_note),
    Kind.MUTE:
        (not_spoken, not_spoken, not_spoken, not_read_back, not_read_back, not_read_back),
    Kind.TROUBLE:
        (tell_trouble, tell_trouble, tell_trouble, tell_trouble, tell_trouble, tell_trouble),
    Kind.REMINDER:
        (ignore, remind, remind, remind, remind, ignore),
})
# fmt: on
