"""Transitions: entries are kept, corrected, confirmed and taken out."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from voice.dialogue.actions import Confirm, Keep, Remark, Say, Sound, Tone, Withdraw
from voice.dialogue.events import (
    CommandHeard,
    CorrectionHeard,
    NoteHeard,
    SeveralHeard,
    StatementHeard,
    WholeHeard,
)
from voice.dialogue.reading import read_through, when
from voice.dialogue.state import Taken
from voice.dialogue.turn import aside, await_confirm, leave, read_back, read_back_new, speak
from voice.entries.kinds.leg import SpokenNote
from voice.entries.said import Statement
from voice.entries.subject import subject_of

if TYPE_CHECKING:
    from voice.dialogue.turn import Step, Turn


def keep(turn: Turn) -> Step:
    """Keeps what was said as unconfirmed and reads it back; what still waits stays unconfirmed.

    A drug in a unit in which it is not given is not kept, and that is said.
    """
    match turn.event:
        case NoteHeard():
            text, statements = "", (Statement(entry=SpokenNote()),)
        case StatementHeard(text=text, statement=statement):
            statements = (statement,)
        case SeveralHeard(text=text, statements=statements):
            pass
        case _:
            raise AssertionError(turn.event)
    if refused := _refused(turn, *statements):
        return refused
    _, left = leave(turn)
    new = tuple(Taken(n, one) for n, one in enumerate(statements, turn.state.next_number))
    return _keep(turn, text, new, new, left)


def correct(turn: Turn) -> Step:
    """Keeps the entry in place of the last one of its kind; reads it back, with what waits beside it.

    What does not wait, and of which nothing was said for 12 s, is named first, with its time.
    """
    assert isinstance(turn.event, CorrectionHeard)
    statement = turn.event.statement
    if refused := _refused(turn, statement):
        return refused
    last = turn.state.last
    old = _to_correct(last, turn.state.taken, statement)
    new = Taken(turn.state.next_number, statement, corrects=old)
    waiting: tuple[Taken, ...] = (new,)
    _, left = leave(turn)
    if old in turn.state.waiting:
        left = ""  # it is replaced, and what was said with it waits on
        waiting = tuple(new if one == old else one for one in turn.state.waiting)
    if old is None:
        left += "nothing to correct, new entry: "
    elif old not in turn.state.waiting and turn.silent:
        state, (kept, remark, say) = _keep(turn, turn.event.text, (new,), waiting, left)
        named = Say(f"in place of {turn.words.read_back(old.statement)}")
        return state, (kept, remark, named, *when(old), say)
    elif old not in last or old.subject != new.subject:
        left += f"in place of {turn.words.read_back(old.statement)}: "
    return _keep(turn, turn.event.text, (new,), waiting, left)


def take_whole(turn: Turn) -> Step:
    """Puts the whole in the place of what was kept of it in part, and reads it back; nothing is confirmed."""
    assert isinstance(turn.event, WholeHeard)
    text, statements = turn.event.text, turn.event.statements
    if refused := _refused(turn, *statements):
        return refused
    parts, before = turn.state.waiting, ""
    kinds = [[one.statement.entry.kind for one in parts], [one.entry.kind for one in statements]]
    if kinds[0] == kinds[1]:
        old: tuple[Taken | None, ...] = parts
        taken_out: tuple[Withdraw, ...] = ()
    else:
        old = (None,) * len(statements)
        taken_out = tuple(Withdraw(one.number, "more was said") for one in parts)
    new = tuple(
        Taken(number, one, corrects=part)
        for number, (one, part) in enumerate(
            zip(statements, old, strict=True), turn.state.next_number
        )
    )
    if taken_out:
        before = f"in place of {read_back(turn, parts)}: "
        again = [one.corrects for one in parts if one.corrects is not None]
        left = replace(turn.state.with_taken(*again, without=parts), waiting=())
        turn = replace(turn, state=left)
    state, actions = _keep(turn, text, new, new, before)
    return state, (*taken_out, *actions)


def _refused(turn: Turn, *statements: Statement) -> Step | None:
    """Says why one of these is not taken, though it can be said; ``None``: all are."""
    for statement in statements:
        if sentence := turn.words.refusal(statement):
            return aside(turn, Say(sentence))
    return None


def _to_correct(
    last: tuple[Taken, ...], taken: tuple[Taken, ...], statement: Statement
) -> Taken | None:
    """What was read back last, if of the same kind; else the last entry about the same thing.

    Side or drug of the entry just said may be what was wrong; of an earlier one it tells which
    entry is meant, and so it does among several that were said in one breath.
    """
    subject, kind = subject_of(statement.entry), statement.entry.kind
    same = [old for old in last if old.subject == subject]
    alike = [old for old in last if old.statement.entry.kind == kind]
    earlier = [old for old in taken if old.subject == subject]
    return next((found[-1] for found in (same, alike, earlier) if found), None)


def _keep(
    turn: Turn, text: str, new: tuple[Taken, ...], waiting: tuple[Taken, ...], before: str
) -> Step:
    """Keep ``new`` and read back ``waiting``, of which it is a part, after what else is to be said."""
    replaced = [one.corrects for one in new if one.corrects is not None]
    state, _ = leave(turn)
    state = await_confirm(state.with_taken(*new, without=replaced), waiting)
    if set(replaced) & set(turn.state.waiting):
        state = replace(state, review=turn.state.review)  # what follows is read after this one
    state = replace(state, next_number=new[-1].number + 1, quiet_since_s=turn.at_s)
    state, say = speak(state, before + read_back_new(turn, waiting))
    kept = (
        Keep(one.number, text, one.statement, one.corrects.number if one.corrects else None)
        for one in new
    )
    return state, (*kept, *(Remark(one.number) for one in new), say)


def confirm(turn: Turn) -> Step:
    """Confirms what was read back; where the unconfirmed are gone through, reads the next."""
    waiting = turn.state.waiting
    state, _ = leave(turn)
    state = replace(state, review=turn.state.review, quiet_since_s=turn.at_s)
    state = state.with_taken(*(replace(one, confirmed=True) for one in waiting))
    confirmed = (Confirm(one.number) for one in waiting)
    return read_through(turn, state, (*confirmed, Sound(Tone.KEPT)))


def nothing_to_confirm(turn: Turn) -> Step:
    """Says that nothing is waiting; within a check its question follows again."""
    return aside(turn, Say("nothing to confirm"))


def refuse(turn: Turn) -> Step:
    """Takes out all that waits and asks to say it again; what it corrected stands again."""
    if turn.state.review is not None:
        return _withdraw(turn, turn.state.waiting, "taken out", "")
    return _withdraw(turn, turn.state.waiting, "taken out", "; say it again")


def too_late(turn: Turn) -> Step:
    """Nothing waits: says how the last entry is taken out, if it is unconfirmed or was confirmed within 12 s."""
    last = turn.state.last[-1:]
    if not last or (last[0].confirmed and turn.silent):
        return turn.state, ()  # said to somebody else
    told = "confirmed" if last[0].confirmed else "unconfirmed"
    state, say = speak(
        replace(turn.state, misses=0),
        f"{read_back(turn, last)}: {told}; to take it out say scratch that",
    )
    return state, (say,)


def scratch(turn: Turn) -> Step:
    """Takes out all that waits, else what was read back last, and says it; what it corrected stands again."""
    taken = turn.state.waiting or turn.state.last[-1:]
    if not taken:
        state, say = speak(replace(turn.state, misses=0), "nothing to take out")
        return state, (say,)
    return _withdraw(turn, taken, f"taken out: {read_back(turn, taken)}", "")


def _withdraw(turn: Turn, taken: tuple[Taken, ...], told: str, then: str) -> Step:
    assert isinstance(turn.event, CommandHeard)
    why = turn.event.talk.value
    again = [one.corrects for one in taken if one.corrects is not None]
    state, _ = leave(turn)
    state = replace(state.with_taken(*again, without=taken), review=turn.state.review)
    if again:
        told += f". {read_back(turn, again)}: stands again"
        state = replace(state, read=tuple(one.number for one in again))
    state, say = speak(state, told + then)
    return read_through(turn, state, (*(Withdraw(one.number, why) for one in taken), say))


def leave_unconfirmed(turn: Turn) -> Step:
    """After 12 s of silence: what waits stays unconfirmed, and that is said."""
    if not turn.silent:
        return turn.state, ()
    state, left = leave(turn)
    state, say = speak(state, left.rstrip())
    return state, (say,)
