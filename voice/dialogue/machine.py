"""The talk itself: what happens in each state on each event.

``step`` is the whole of it: a pure function that looks up one transition in ``TABLE``. The table
is drawn in ``docs/dialogue.md`` by ``python -m voice.dialogue.draw``.

Three rules hold throughout:

* An entry is written down, as unconfirmed, before it is read back: nothing said is lost.
* Only "confirm" confirms, and only what was read back last. Silence or a new entry leaves the
  waiting one unconfirmed, and that is said.
* Nothing is taken away or replaced without saying what.

While a check runs, its next question is asked wherever the talk would only listen.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from voice.dialogue.actions import (
    Sound,
    Tone,
)
from voice.dialogue.asking import (
    ask,
    ask_again,
    ask_for_rest,
    drop_note,
    not_read_back,
    not_spoken,
    not_taken,
    read_last,
    say_again,
    take_note,
    tell_trouble,
    total_out,
    wait,
)
from voice.dialogue.checking import (
    already_checking,
    answer_item,
    go_on,
    scratch_in_check,
    skip_item,
    start_check,
    stop_check,
    stop_check_late,
)
from voice.dialogue.entering import (
    confirm,
    correct,
    keep,
    leave_unconfirmed,
    nothing_to_confirm,
    refuse,
    scratch,
    take_whole,
    too_late,
)
from voice.dialogue.events import (
    ChoiceHeard,
    CommandHeard,
    ConfirmAndHeard,
    Event,
    Kind,
    TwoHeard,
    heard_as_event,
)
from voice.dialogue.reading import read_on, read_unconfirmed, stop_reading
from voice.dialogue.reminding import acknowledge, postpone, remind
from voice.dialogue.standing import (
    already_listening,
    already_started,
    end,
    ignore,
    no_leg,
    resume,
    stand_by,
    standing_by,
    start,
    still_standing_by,
)
from voice.dialogue.state import DialogueState, StateName
from voice.dialogue.turn import Step, Transition, Turn, leave, speak
from voice.entries.said import Correction, Several, Statement, Talk

if TYPE_CHECKING:
    from collections.abc import Mapping

    from voice.dialogue.words import Words
    from voice.meaning.decision import Heard


def step(state: DialogueState, event: Event, at_s: float, words: Words) -> Step:
    """The state after ``event``, and what is to be done, in order.

    ``at_s`` is the event's time on the source's clock, in s: for what was heard, the end of the
    speech; for ``FellSilent``, the end of our own sound.
    """
    if isinstance(event, ConfirmAndHeard):
        return _confirm_and(state, event, at_s, words)
    turn = Turn(state, event, at_s, words)
    return go_on(turn, TABLE[state.name, event.kind](turn))


def _confirm_and(state: DialogueState, event: ConfirmAndHeard, at_s: float, words: Words) -> Step:
    """One after the other, but that nothing else is read or asked in between."""
    name = StateName.LISTENING if state.name is StateName.CHECKING else state.name
    state = replace(state, name=name, review=None)
    confirming = Turn(state, CommandHeard(Talk.CONFIRM), at_s, words)
    state, confirmed = TABLE[name, Talk.CONFIRM](confirming)
    state, taken = step(state, event.then, at_s, words)
    return state, (*confirmed, *taken)


# --- two readings ------------------------------------------------------------------------------


def offer(turn: Turn) -> Step:
    """Asks which of the two was said."""
    assert isinstance(turn.event, TwoHeard)
    offered = (turn.event.first, turn.event.second)
    state = replace(turn.state, name=StateName.CHOOSING, offered=offered, misses=0)
    state, say = speak(replace(state, quiet_since_s=turn.at_s), turn.words.question(*offered))
    return state, (say,)


def choose(turn: Turn) -> Step:
    """Takes the reading that was chosen as if it had been heard alone."""
    chosen = _chosen(turn)
    if chosen is None:
        return ask_again(turn)
    name = StateName.LISTENING if not turn.state.waiting else StateName.CONFIRMING
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
            values, others = (_values(heard) for heard in (first, second))
            if abs(value) in values ^ others:
                return first if abs(value) in values else second
            return None
    raise AssertionError(turn.event)


def _values(heard: Heard) -> set[float]:
    """Sizes of all numbers in a reading; "below" may stand for a minus sign."""
    match heard.meaning:
        case (Statement() as statement) | Correction(statement=statement):
            statements: tuple[Statement, ...] = (statement,)
        case Several(statements=statements):
            pass
        case _:
            return set()
    fields = [
        value
        for one in statements
        for value in (*dict(one.entry).values(), *(dict(one.when).values() if one.when else ()))
    ]
    return {abs(value) for value in fields if type(value) in {int, float}}


def only_the_choice(turn: Turn) -> Step:
    """A tone: an entry that is said now is not taken, and the nurse must know."""
    return turn.state, (Sound(Tone.NOT_UNDERSTOOD),)


def drop_question(turn: Turn) -> Step:
    """Takes neither and asks to say it again; a waiting entry stays unconfirmed."""
    state, left = leave(turn)
    state, say = speak(state, f"{left}neither taken; say it again")
    return state, (say,)


def drop_question_late(turn: Turn) -> Step:
    """After 12 s of silence: takes neither and says so; a waiting entry stays unconfirmed."""
    if not turn.silent:
        return turn.state, ()
    return drop_question(turn)


# --- the table ---------------------------------------------------------------------------------

LEADS_TO: Mapping[Transition, StateName] = {
    start: StateName.LISTENING,
    resume: StateName.LISTENING,
    stand_by: StateName.STANDING_BY,
    end: StateName.ASLEEP,
    keep: StateName.CONFIRMING,
    correct: StateName.CONFIRMING,
    take_whole: StateName.CONFIRMING,
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
    read_unconfirmed: StateName.CONFIRMING,
    read_on: StateName.LISTENING,
    stop_reading: StateName.LISTENING,
    start_check: StateName.CHECKING,
    stop_check: StateName.CONFIRMING,
    stop_check_late: StateName.CONFIRMING,
}
"""Where a transition may lead; those that are not named here always stay. While a check runs, the
talk is checking where it would else be listening (`go_on`); with the last answer it waits for
"confirm"."""


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
    # ASLEEP, STANDING_BY, LISTENING, CONFIRMING, CHECKING, CHOOSING, NOTING
    Talk.START_LEG:
        (start, standing_by, already_started, already_started, already_started, ignore, ignore),
    Talk.END_LEG:
        (no_leg, ignore, end, end, end, ignore, ignore),
    Kind.STATEMENT:
        (no_leg, ignore, keep, keep, keep, ignore, ignore),
    Kind.SEVERAL:
        (no_leg, ignore, keep, keep, keep, ignore, ignore),
    Kind.CORRECTION:
        (no_leg, ignore, correct, correct, correct, ignore, ignore),
    Talk.CONFIRM:
        (no_leg, ignore, nothing_to_confirm, confirm, nothing_to_confirm, ignore, ignore),
    Talk.NO:
        (too_late, ignore, too_late, refuse, answer_item, drop_question, ignore),
    Talk.SCRATCH_THAT:
        (no_leg, ignore, scratch, scratch, scratch_in_check, drop_question, ignore),
    Kind.TWO_READINGS:
        (no_leg, ignore, offer, offer, offer, ask_again, ignore),
    Talk.FIRST:
        (ignore, ignore, ignore, ignore, ignore, choose, ignore),
    Talk.SECOND:
        (ignore, ignore, ignore, ignore, ignore, choose, ignore),
    Kind.CHOICE:
        (ignore, ignore, ignore, ignore, ignore, choose, ignore),
    Talk.SAY_AGAIN:
        (no_leg, ignore, say_again, say_again, say_again, say_again, ignore),
    Talk.READ_LAST:
        (no_leg, ignore, read_last, read_last, read_last, ignore, ignore),
    Talk.TOTAL_OUT:
        (no_leg, ignore, total_out, total_out, total_out, ignore, ignore),
    Kind.QUESTION:
        (no_leg, ignore, ask, ask, ask, ignore, ignore),
    Talk.READ_UNCONFIRMED:
        (no_leg, ignore, read_unconfirmed, read_unconfirmed, read_unconfirmed, ignore, ignore),
    Talk.NEXT_PART:
        (no_leg, ignore, read_on, read_on, read_on, ignore, ignore),
    Talk.STOP_READING:
        (no_leg, ignore, stop_reading, stop_reading, stop_reading, ignore, ignore),
    Kind.CHECK:
        (no_leg, ignore, start_check, start_check, already_checking, ignore, ignore),
    Talk.YES:
        (ignore, ignore, ignore, ignore, answer_item, ignore, ignore),
    Talk.SKIP:
        (ignore, ignore, ignore, ignore, skip_item, ignore, ignore),
    Talk.STOP_CHECK:
        (ignore, ignore, ignore, ignore, stop_check, ignore, ignore),
    Talk.TAKE_NOTE:
        (no_leg, ignore, take_note, take_note, take_note, ignore, ignore),
    Kind.NOTE:
        (ignore, ignore, ignore, ignore, ignore, ignore, keep),
    Talk.REMINDER_NOTED:
        (no_leg, ignore, acknowledge, acknowledge, acknowledge, ignore, ignore),
    Talk.REMIND_LATER:
        (no_leg, ignore, postpone, postpone, postpone, ignore, ignore),
    Talk.STAND_BY:
        (no_leg, ignore, stand_by, stand_by, stand_by, ignore, ignore),
    Talk.RESUME:
        (no_leg, resume, already_listening, already_listening, already_listening, ignore, ignore),
    Kind.UNCLEAR:
        (ask_again, ignore, ask_again, ask_again, ask_again, ask_again, ignore),
    Kind.HALF:
        (ask_again, ignore, ask_for_rest, ask_for_rest, ask_for_rest, ask_for_rest, ignore),
    Kind.WHOLE:
        (ignore, ignore, take_whole, take_whole, take_whole, ignore, ignore),
    Kind.SAID_OVER:
        (not_taken, not_taken, not_taken, not_taken, not_taken, not_taken, ignore),
    Kind.OTHER_SPEECH:
        (ignore, ignore, ignore, ignore, ignore, only_the_choice, ignore),
    Kind.FELL_SILENT:
        (ignore, ignore, wait, wait, wait, wait, wait),
    Kind.TIME_PASSED:
        (ignore, still_standing_by, ignore, leave_unconfirmed, stop_check_late, drop_question_late, drop_note),
    Kind.MUTE:
        (not_spoken, not_spoken, not_spoken, not_read_back, not_read_back, not_read_back, not_spoken),
    Kind.TROUBLE:
        (tell_trouble, tell_trouble, tell_trouble, tell_trouble, tell_trouble, tell_trouble, tell_trouble),
    Kind.REMINDER:
        (ignore, remind, remind, remind, remind, remind, ignore),
})
# fmt: on
