"""Writes down what happened: the actions of the talk as events of the journal."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from voice.dialogue.actions import Confirm, EndLeg, Keep, Record, Remind, StartLeg, Withdraw
from voice.record.errors import EventRefusedError, JournalError
from voice.record.events import (
    Confirmed,
    Heard,
    HeardBy,
    Kept,
    LegEnded,
    Noticed,
    Reminded,
    ScoredText,
    SecondHeard,
    Together,
    Withdrawn,
)
from voice.record.journal import Journal
from voice.record.shelf import free_leg_id
from voice.record.times import happened_at

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray

    from voice.dialogue.state import StateName
    from voice.entries.heard import Alternative, Hearing, SecondOpinion
    from voice.entries.leg import Leg, LegSettings
    from voice.meaning.decision import Decision
    from voice.record.events import Event


@dataclass(frozen=True, slots=True)
class Utterance:
    """Something that was said, as far as the journal knows it."""

    spoken_at: datetime
    clip: str | None = None
    """Name of its sound; ``None`` where that could not be kept, or no leg runs."""


@dataclass(frozen=True, slots=True)
class Origin:
    """Where legs are kept, and what is noted at the start of each."""

    root: Path
    settings: LegSettings
    grammar_digest: str
    model_digest: str
    spare_root: Path | None = None
    """Where a journal goes on when ``root`` fails: best on another disk."""


class Keeper:
    """Keeps one leg after the other.

    A journal that cannot be written is carried on in a new file at once, and then ``troubles``
    holds a sentence about it.
    """

    def __init__(self, origin: Origin, journal: Journal | None = None) -> None:
        """``journal`` is that of a leg which has not ended, to go on with."""
        self._origin = origin
        self._journal = journal
        self._folder: Path | None = None if journal is None else origin.root / journal.leg_id
        self.troubles: list[str] = []
        """Sentences that the nurse has to be told."""

    @property
    def running(self) -> bool:
        """Whether a leg runs."""
        return self._journal is not None

    @property
    def folder(self) -> Path:
        """Where the leg is kept that runs, or that was the last to run."""
        if self._folder is None:
            raise EventRefusedError("No leg has been started.")
        return self._folder

    def leg(self) -> Leg:
        """The leg as it stands; raises ``EventRefusedError`` where none runs."""
        return self._open_journal().leg()

    def note_down(  # noqa: PLR0913 - what was said is told in full
        self,
        samples: NDArray[np.int16],
        hearing: Hearing,
        decision: Decision,
        state: StateName,
        *,
        start_at: datetime,
        end_at: datetime,
        now: datetime,
    ) -> Utterance:
        """Keep the sound of something that was said, and what was made of it.

        Where that fails ``troubles`` tells; it never keeps an entry from being written.
        """
        clip = None
        try:
            journal = self._open_journal()
            clip = journal.add_clip(samples)
            if journal.sound_failure is not None:
                self.troubles.append(
                    f"Sound is kept in the spare folder, because of its own disk: {journal.sound_failure}. "
                    "Nothing is lost. Have the disk looked at after the leg."
                )
        except JournalError as error:
            self.troubles.append(str(error))
        event = Heard(
            at=now,
            start_at=start_at,
            end_at=end_at,
            alternatives=_scored(hearing.all),
            second=_second(hearing.second),
            decision=decision,
            dialogue_state=state.value,
            clip=clip,
        )
        try:
            self._append(event)
        except JournalError as error:
            self.troubles.append(str(error))
        return Utterance(start_at, clip.name if clip else None)

    def notice(self, sentence: str, now: datetime) -> None:
        """Write down trouble of the program itself; raises ``JournalError`` where it cannot."""
        if self._journal is not None:
            self._append(Noticed(at=now, text=sentence))

    def go_on(self, now: datetime) -> datetime:
        """Write down which phrases and model hear the rest of a leg that is gone on with; its time from there.

        That is ``now`` (aware), or the moment of its last event where the clock was set back: an entry that is
        spoken later stands later, so that what was said last of the drain is how it stands.

        Raises ``JournalError`` where it cannot.
        """
        origin = self._origin
        before = self._open_journal().last_at
        if before is not None and now < before:
            now = before
            self.troubles.append(
                "The clock was set back since the leg broke off. The leg's time goes on from its last "
                "event; times from here on may be wrong: look at the clock."
            )
        self._append(
            HeardBy(at=now, grammar_digest=origin.grammar_digest, model_digest=origin.model_digest)
        )
        return now

    def do(self, records: Sequence[Record], said: Utterance, now: datetime) -> None:
        """Do all that the talk asks for in one step, which ``said`` brought about.

        Raises ``LegbookError`` where it cannot be written; then nothing was.
        """
        match records:
            case []:
                pass
            case [StartLeg()]:
                self._start(now)
            case [EndLeg()]:
                self._append(LegEnded(at=now))
                self.close()
            case [Remind() as reminder]:
                self._append(_reminded(reminder, now))
            case [record]:
                self._append(self._event(record, said, now))
            case _:
                events = tuple(self._event(record, said, now) for record in records)
                self._append(Together(at=now, parts=events))

    def close(self) -> None:
        """Let the journal go; nothing is lost without it."""
        if self._journal is not None:
            self._journal.close()
            self._journal = None

    def _start(self, now: datetime) -> None:
        origin = self._origin
        local = now.astimezone(origin.settings.zone)
        leg_id = free_leg_id(origin.root, local, origin.spare_root)
        self._folder = origin.root / leg_id
        self._journal = Journal.create(
            self._folder,
            origin.settings,
            now,
            grammar_digest=origin.grammar_digest,
            model_digest=origin.model_digest,
            spare=origin.spare_root / leg_id if origin.spare_root else None,
        )
        if self._journal.in_spare:
            self.troubles.append(
                "The leg is kept in the spare folder: its own disk cannot be written. "
                "Have the disk looked at after the leg."
            )

    def _event(
        self, record: Record, said: Utterance, now: datetime
    ) -> Kept | Confirmed | Withdrawn:
        match record:
            case Keep():
                return self._kept(record, said, now)
            case Confirm(number=number):
                return Confirmed(at=now, number=number)
            case Withdraw(number=number, why=why):
                return Withdrawn(at=now, number=number, why=why)
        raise AssertionError(record)  # all else stands alone

    def _kept(self, action: Keep, said: Utterance, now: datetime) -> Kept:
        statement = action.statement
        happened = happened_at(statement.when, said.spoken_at, self._origin.settings.zone)
        if action.replaces is not None and statement.when is None:
            entries = self._open_journal().leg().entries
            happened = next(e.happened_at for e in entries if e.number == action.replaces)
        return Kept(
            at=now,
            number=action.number,
            entry=statement.entry,
            heard=action.text,
            spoken_at=said.spoken_at,
            happened_at=happened,
            replaces=action.replaces,
            clip=said.clip,
        )

    def _append(self, event: Event) -> None:
        """Write an event, in a new file if need be."""
        journal = self._open_journal()
        try:
            journal.append(event)
        except JournalError:
            # never tried again on the file that failed: what it holds is no longer sure
            journal.carry_on(event.at)
            journal.append(event)
            self.troubles.append(
                "The journal could not be written and goes on in a new file. "
                "Nothing is lost. Have the disk looked at after the leg."
            )

    def _open_journal(self) -> Journal:
        if self._journal is None:
            raise EventRefusedError("No leg has been started.")
        return self._journal


def _scored(alternatives: Sequence[Alternative]) -> tuple[ScoredText, ...]:
    return tuple(ScoredText(text=one.text, score=one.score) for one in alternatives)


def _second(opinion: SecondOpinion | None) -> SecondHeard | None:
    if opinion is None:
        return None
    return SecondHeard(stand=opinion.stand, alternatives=_scored(opinion.alternatives))


def _reminded(action: Remind, now: datetime) -> Reminded:
    until = None if action.minutes is None else now + timedelta(minutes=action.minutes)
    return Reminded(at=now, key=action.key, became=action.became, text=action.text, until=until)
