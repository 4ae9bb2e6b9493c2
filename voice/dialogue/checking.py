"""Transitions: a check by voice asks what is not known yet, one question at a time.

While a check runs, the talk comes back to its next question wherever it would else only listen:
any entry may be said in between. Each "yes" and "no" is kept at once and read back with the next
question; one "confirm" at the end is for all of them.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from voice.dialogue.actions import Action, Keep, Remark, Say
from voice.dialogue.checks import Check
from voice.dialogue.entering import scratch
from voice.dialogue.events import CheckHeard, CommandHeard
from voice.dialogue.state import DialogueState, StateName, Taken
from voice.dialogue.turn import aside, await_confirm, leave, speak
from voice.entries.said import Talk

if TYPE_CHECKING:
    from voice.dialogue.turn import Step, Turn
    from voice.meaning.checklist import Item

QUESTION_WITHIN_S = 45.0
"""Silence after which a check is left (common practice, no source: time enough to look at a drain
or into a chart, and too short for a "yes" to be taken for an answer to a question that is
forgotten)."""


def start_check(turn: Turn) -> Step:
    """Begins to ask what the list holds and nobody has told; a waiting entry stays unconfirmed."""
    assert isinstance(turn.event, CheckHeard)
    state, left = leave(turn)
    checklist = turn.words.checklist(turn.event.check)
    check = Check(checklist, state.next_number)
    if check.next_item(state.taken) is None:
        state, say = speak(state, f"{left}check {checklist.name}: nothing left to ask")
        return state, (say,)
    return _ask(turn, replace(state, check=check), f"{left}check {checklist.name}. ")


def already_checking(turn: Turn) -> Step:
    """Says which check runs, and asks its question again."""
    return aside(turn, Say(f"check {_check(turn.state).checklist.name} is running"))


def answer_item(turn: Turn) -> Step:
    """Keeps the answer as unconfirmed, and reads it back with the next question."""
    assert isinstance(turn.event, CommandHeard)
    state, item = turn.state, _item(turn.state)
    statement = item.yes if turn.event.talk is Talk.YES else item.no
    if statement is None:
        return aside(turn, Say(item.hint))
    new = Taken(state.next_number, statement)
    state = replace(
        state.with_taken(new),
        next_number=new.number + 1,
        read=(new.number,),
        check=_check(state).answered(item, new.number),
        misses=0,
    )
    keep = Keep(new.number, turn.event.talk.value, statement)
    told = f"{turn.words.read_back(statement)}. "
    return _ask(turn, state, told, keep, Remark(new.number))


def skip_item(turn: Turn) -> Step:
    """Passes the item over: it counts as not answered."""
    check = _check(turn.state).passed(_item(turn.state))
    return _ask(turn, replace(turn.state, check=check, misses=0), "skipped. ")


def scratch_in_check(turn: Turn) -> Step:
    """Takes out the last entry and says which; an answer to this check is asked for again."""
    gone = [one.number for one in turn.state.last[-1:]]
    state, actions = scratch(turn)
    return replace(state, check=_check(turn.state).without(gone)), actions


def stop_check(turn: Turn) -> Step:
    """Ends the check: what was not answered is said, and kept as such."""
    return _finish(turn, turn.state, "stopped. ")


def stop_check_late(turn: Turn) -> Step:
    """After 45 s of silence: ends the check as "stop check" does."""
    if turn.at_s - turn.state.quiet_since_s < QUESTION_WITHIN_S:
        return turn.state, ()
    return _finish(turn, turn.state, "no answer. ")


def go_on(turn: Turn, done: Step) -> Step:
    """Where the talk would only listen and a check runs: on with its next question."""
    state, actions = done
    if state.name is not StateName.LISTENING or state.check is None:
        return done
    return _ask(turn, state, "", *actions)


def _ask(turn: Turn, state: DialogueState, before: str, *actions: Action) -> Step:
    """Ask the next question, after what else is said and done; where there is none, finish."""
    item = _check(state).next_item(state.taken)
    if item is None:
        return _finish(turn, state, before, *actions)
    state = replace(state, name=StateName.CHECKING, quiet_since_s=turn.at_s)
    state, say = speak(state, before + item.ask)
    return state, (*actions, say)


def _finish(turn: Turn, state: DialogueState, before: str, *actions: Action) -> Step:
    """The check is over: tell what was not answered, keep it, and wait for one "confirm"."""
    check = _check(state)
    open_items = check.open_items(state.taken)
    numbers = {number for _, number in check.answers}
    answers = tuple(one for one in state.taken if one.number in numbers and not one.confirmed)
    left = tuple(Taken(n, item.unanswered) for n, item in enumerate(open_items, state.next_number))
    why = turn.event.talk.value if isinstance(turn.event, CommandHeard) else ""
    state = replace(
        state.with_taken(*left),
        name=StateName.LISTENING,
        check=None,
        next_number=state.next_number + len(left),
        quiet_since_s=turn.at_s,
    )
    told = f"{before}check {check.checklist.name} done"
    if open_items:
        told += f"; not answered: {', '.join(item.name for item in open_items)}"
    if not answers and not left:
        state, say = speak(state, told)
        return state, (*actions, say)
    count = len(answers)
    what = "this" if not count else "the answer" if count == 1 else f"the {count} answers"
    state, say = speak(
        await_confirm(state, (*answers, *left)), f"{told}; say confirm to keep {what}"
    )
    kept = (Keep(one.number, why, one.statement) for one in left)
    return state, (*actions, *kept, say)


def _check(state: DialogueState) -> Check:
    assert state.check is not None
    return state.check


def _item(state: DialogueState) -> Item:
    item = _check(state).next_item(state.taken)
    assert item is not None, "while checking there is always a question"
    return item
