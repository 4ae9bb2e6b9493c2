"""An act of the page, as the event that it comes to and the sentence that tells it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

from voice.entries.errors import LegbookError
from voice.entries.leg import EntryState, LegEntry
from voice.entries.said import MinutesAgo
from voice.record.desk_events import (
    Commented,
    DeskApproved,
    DeskEntry,
    DeskWithdrawn,
    ListenedTo,
    SignedOff,
    WrittenDown,
)
from voice.record.times import happened_at
from voice.report.wording import entry_text
from voice.review.acts import (
    REASONS,
    AddEntry,
    Approve,
    ChangeTime,
    EndLeg,
    Listen,
    SignOffLeg,
    TakeAlternative,
    TypeValue,
    WithdrawEntry,
    WriteComment,
    WriteDown,
)
from voice.review.ending import ended, told_end
from voice.review.options import options
from voice.review.rows import clock_time
from voice.review.times import moment
from voice.review.typed import TypedError, typed

if TYPE_CHECKING:
    from datetime import datetime

    from voice.entries.review import Reviewer
    from voice.entries.said import Statement
    from voice.meaning.grammar import Grammar
    from voice.record.desk_events import DeskEvent
    from voice.review.acts import Act
    from voice.review.at_hand import LegAtHand
    from voice.review.rows import Counter


class Written(NamedTuple):
    """What is to be written, and how it is told to the reviewer."""

    event: DeskEvent
    said: str


class Writer:
    """Turns acts of one reviewer at one moment into events; it writes none itself."""

    def __init__(self, at_hand: LegAtHand, grammar: Grammar, by: Reviewer, now: datetime) -> None:
        self._at_hand = at_hand
        self._leg = at_hand.leg
        self._grammar = grammar
        self._by = by
        self._now = now

    def written(self, act: Act, counter: Counter) -> Written:  # noqa: C901, PLR0911 - one for each act
        """What ``act`` comes to; ``counter`` is what a sign-off tells of the sounds.

        Raises ``LegbookError`` where it cannot be done, in a sentence that says why.
        """
        match act:
            case Approve():
                return self._approve(act)
            case TakeAlternative():
                return self._take_alternative(act)
            case TypeValue():
                return self._type(act)
            case ChangeTime():
                return self._change_time(act)
            case AddEntry():
                return self._add(act)
            case WithdrawEntry():
                return self._withdraw(act)
            case WriteComment(number=number, text=text):
                about = (
                    "the leg" if number is None else f"entry {self._at_hand.entry(number).number}"
                )
                event = Commented(at=self._now, by=self._by, number=number, text=text)
                return Written(event, f"Comment on {about} kept.")
            case WriteDown():
                return self._write_down(act)
            case Listen(clip=clip):
                return Written(ListenedTo(at=self._now, by=self._by, clip=clip), "Listened to.")
            case EndLeg():
                return self._end(act)
            case SignOffLeg():
                return self._sign_off(act, counter)

    def _approve(self, act: Approve) -> Written:
        entry = self._counting(act.number)
        event = DeskApproved(at=self._now, by=self._by, number=act.number, why=_why(act))
        return Written(event, f"Entry {act.number}, {entry_text(entry.entry)}, is reviewed.")

    def _take_alternative(self, act: TakeAlternative) -> Written:
        entry = self._counting(act.number)
        heard = self._at_hand.sounds.of(entry.spoken_at)
        settings = self._leg.settings
        listed = () if heard is None else options(heard, self._grammar, settings, entry.entry)
        option = next((one for one in listed if one.text == act.text), None)
        if option is None:
            raise LegbookError(f'"{act.text}" is not among what was heard for entry {act.number}.')
        if option.statement is None:
            raise LegbookError(option.why_not or "That alternative is no entry.")
        _check_as_shown(act.becomes, option.statement)
        return self._correct(entry, option.statement, option.text, "alternative", _why(act))

    def _type(self, act: TypeValue) -> Written:
        entry = self._counting(act.number)
        statement, words = typed(act.text, self._grammar, self._leg.settings, entry.entry)
        _check_as_shown(act.becomes, statement)
        return self._correct(entry, statement, words, "typed", _why(act))

    def _change_time(self, act: ChangeTime) -> Written:
        entry = self._counting(act.number)
        at = moment(act.time, entry.happened_at, self._leg, self._now)
        if at == entry.happened_at:
            raise TypedError("That is the time that it bears already.")
        return self._put_down(
            entry.model_copy(update={"happened_at": at}), entry.number, "time", _why(act)
        )

    def _correct(
        self,
        entry: LegEntry,
        statement: Statement,
        words: str,
        how: Literal["alternative", "typed"],
        why: str,
    ) -> Written:
        at = entry.happened_at
        if statement.when is not None:
            zone = self._leg.settings.zone
            at = happened_at(statement.when, entry.spoken_at, zone)
        if (statement.entry, at) == (entry.entry, entry.happened_at):
            raise TypedError(
                f"That is how entry {entry.number} stands already. If it is right, approve it."
            )
        changed = {"entry": statement.entry, "heard": words, "happened_at": at}
        return self._put_down(entry.model_copy(update=changed), entry.number, how, why)

    def _add(self, act: AddEntry) -> Written:
        statement, words = typed(act.text, self._grammar, self._leg.settings)
        _check_as_shown(act.becomes, statement)
        spoken_at = self._now if act.clip is None else self._spoken_at(act.clip)
        if act.time is not None:
            near = self._middle() if act.clip is None else spoken_at
            at = moment(act.time, near, self._leg, self._now)
        elif act.clip is not None:
            at = happened_at(statement.when, spoken_at, self._leg.settings.zone)
        elif statement.when is None or isinstance(statement.when, MinutesAgo):
            raise TypedError("Say when it happened, by the leg's clock: there is no sound of it.")
        else:
            clock = f"{statement.when.hour:02}:{statement.when.minute:02}"
            at = moment(clock, self._middle(), self._leg, self._now)
        added = LegEntry(
            number=self._at_hand.next_number,
            entry=statement.entry,
            heard=words,
            spoken_at=spoken_at,
            happened_at=at,
            state=EntryState.REVIEWED,
            clip=act.clip,
        )
        return self._put_down(added, None, "typed", _why(act))

    def _put_down(
        self,
        one: LegEntry,
        replaces: int | None,
        how: Literal["alternative", "typed", "time"],
        why: str,
    ) -> Written:
        self._check_end(one)
        number = self._at_hand.next_number
        event = DeskEntry(
            at=self._now,
            by=self._by,
            number=number,
            entry=one.entry,
            heard=one.heard,
            spoken_at=one.spoken_at,
            happened_at=one.happened_at,
            replaces=replaces,
            clip=one.clip,
            how=how,
            why=why,
        )
        became = f"{number} added" if replaces is None else f"{replaces} is now entry {number}"
        told = f"{entry_text(one.entry)} at {clock_time(self._leg, one.happened_at)}"
        if one.happened_at < self._leg.started_at:  # a slip of the keys may lead to the day before
            told += ", before the leg began"
        return Written(event, f"Entry {became}: {told}.")

    def _withdraw(self, act: WithdrawEntry) -> Written:
        entry = self._counting(act.number)
        event = DeskWithdrawn(at=self._now, by=self._by, number=act.number, why=_why(act))
        told = f"Entry {act.number}, {entry_text(entry.entry)}, is withdrawn."
        if entry.replaces is not None:
            before = self._at_hand.entry(entry.replaces)
            self._check_end(before)
            told += f" Entry {before.number}, {entry_text(before.entry)}, stands again."
        return Written(event, told)

    def _write_down(self, act: WriteDown) -> Written:
        if not self._counting(act.number).is_note:
            raise LegbookError(f"Entry {act.number} is no spoken note. Comment on it instead.")
        event = WrittenDown(at=self._now, by=self._by, number=act.number, text=act.text)
        return Written(event, f"Note {act.number} is written down.")

    def _end(self, act: EndLeg) -> Written:
        # by a clock that was set back it is still to come
        now = max(self._now, self._at_hand.events[-1].at)
        event = ended(self._leg, now, self._by, act.time, _why(act))
        signed = " It has to be signed off again." if self._leg.signed else ""
        return Written(event, f"{told_end(self._leg, event)}{signed}")

    def _sign_off(self, act: SignOffLeg, counter: Counter) -> Written:
        event = SignedOff(
            at=self._now,
            by=self._by,
            sounds=counter.of,
            listened_to=counter.listened,
            may_teach=act.may_teach,
        )
        left = sum(one.in_doubt for one in self._leg.entries)
        told = f"Signed off by {self._by}: {counter.listened} of {counter.of} sounds listened to"
        entries = "1 entry" if left == 1 else f"{left} entries"
        open_end = (
            " Nobody told when the leg was over: tell it under “End of the leg”, and sign off again."
            if self._leg.ended_at is None
            else ""
        )
        return Written(event, f"{told}, {entries} never confirmed.{open_end}")

    # --- looking up ------------------------------------------------------------------------------

    def _counting(self, number: int) -> LegEntry:
        entry = self._at_hand.entry(number)
        if not entry.counts:
            raise LegbookError(f"Entry {number} no longer counts: it was {entry.state}.")
        return entry

    def _check_end(self, entry: LegEntry) -> None:
        """Sound may have been kept after the end that was told at the desk; what happened on the leg was before it."""
        end, ended_at = self._leg.desk_end, self._leg.ended_at
        if end is not None and ended_at is not None and entry.happened_at > ended_at:
            local = self._leg.local
            raise LegbookError(
                f"{end.by}, told that the leg was over at {local(ended_at):%H:%M}, and {entry_text(entry.entry)} is of "
                f"{local(entry.happened_at):%H:%M}. Tell first when it was over, under “End of the leg”."
            )

    def _spoken_at(self, clip: str) -> datetime:
        for _, heard in self._at_hand.sounds.heard.values():
            if heard.clip is not None and heard.clip.name == clip:
                return heard.start_at
        raise LegbookError(f"There is no sound {clip} in this leg.")

    def _middle(self) -> datetime:
        """Of the leg: a time of day that is typed is the one nearest to it."""
        start = self._leg.started_at
        return start + ((self._leg.known_until or self._now) - start) / 2


def _why(
    act: Approve | TakeAlternative | TypeValue | ChangeTime | AddEntry | WithdrawEntry | EndLeg,
) -> str:
    return act.why or REASONS[act.act][0]


def _check_as_shown(becomes: str | None, statement: Statement) -> None:
    """What the reviewer was told that it becomes is what it becomes, or nothing is written."""
    written = entry_text(statement.entry)
    if becomes is not None and becomes != written:
        raise TypedError(
            f"It would become {written}, and the page said {becomes}. Nothing was written: look, then do it again."
        )
