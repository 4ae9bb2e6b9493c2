"""The desk at one leg: shows it, and takes one act at a time into its journal.

Nothing here may be called from two threads at once.
"""

from __future__ import annotations

import time
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from voice.entries.errors import LegbookError
from voice.record import clips
from voice.record.desk_events import DeskEvent
from voice.record.errors import EventRefusedError, JournalBusyError, JournalError
from voice.record.events import Clip
from voice.record.journal import Journal
from voice.record.shelf import is_flown
from voice.review.acts import Changes, Done, Listen
from voice.review.at_hand import LegAtHand
from voice.review.meanwhile import meanwhile
from voice.review.options import options
from voice.review.rows import View, Viewer, clock_time
from voice.review.writing import Writer

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime
    from pathlib import Path

    from voice.entries.leg import Leg, LegEntry
    from voice.entries.review import Reviewer
    from voice.meaning.grammar import Grammar
    from voice.record.events import Event, Heard
    from voice.review.acts import Act
    from voice.review.options import Option
    from voice.review.rows import Gap, Row

_TRIES = 20
_BETWEEN_TRIES_S = 0.05
"""Another desk holds the leg for the moment of an act; whoever records it, all the time."""


class ClosedError(LegbookError):
    """The leg can be looked at only."""


class ConflictError(LegbookError):
    """Somebody else was faster: nothing was written."""


class ClipError(LegbookError):
    """A sound is not there, or not as it was kept."""

    def __init__(self, sentence: str, *, was_kept: bool) -> None:
        super().__init__(sentence)
        self.was_kept = was_kept
        """Whether the journal names it."""


class Desk:
    """One leg at the desk."""

    def __init__(
        self,
        folder: Path,
        grammar: Grammar,
        clock: Callable[[], datetime],
        *,
        spare: Path | None = None,
        readonly: bool = False,
    ) -> None:
        """``clock`` gives the time that acts bear, aware.

        Raises ``JournalError`` where there is no leg in the folder, or nothing can be read of it.
        """
        self.grammar = grammar
        self._folder = folder
        self._spare = spare
        self._clock = clock
        self._readonly = readonly
        self._journal: Journal | None = None
        self._at_hand = LegAtHand(folder, spare)
        self._viewer = Viewer(grammar)
        self._shown: View | None = None
        self._changed: dict[tuple[type, int], int] = {}
        self.after_act: Callable[[Act], None] = lambda _: None
        """Called after each act that was written; the answer to it waits for this."""

    @property
    def leg(self) -> Leg:
        """The leg as it stands."""
        self._at_hand.refresh()
        return self._at_hand.leg

    @property
    def head(self) -> int:
        """Number of the journal's last event."""
        self._at_hand.refresh()
        return self._at_hand.head

    @property
    def now(self) -> datetime:
        """The time that an act done now would bear."""
        return self._clock()

    @property
    def is_flown(self) -> bool:
        """Whether a program goes on with the leg just now."""
        at_hand = self._at_hand
        return is_flown(self.leg, at_hand.events[-1].at, at_hand.folders)

    @property
    def damage(self) -> tuple[str, ...]:
        """What is wrong with the journal."""
        return self._at_hand.damage

    @property
    def closed(self) -> str | None:
        """Why nothing can be written, in a whole sentence; ``None`` where it can."""
        if self._readonly:
            return "The leg was opened to be looked at only."
        if self._at_hand.damage:
            return "The journal is not as it was written, so nothing is added to it."
        if self._at_hand.sealed:
            return "The leg is sealed: nothing can be added to it."
        return None

    @property
    def was_worked_on(self) -> bool:
        """Whether anything was done at a desk, if only listening."""
        return any(isinstance(event, DeskEvent) for event in self._at_hand.events)

    def flown(self) -> Leg:
        """The leg as it was before the first act of the desk."""
        return self._at_hand.flown()

    # --- looking ---------------------------------------------------------------------------------

    def view(self) -> View:
        """All that the page shows."""
        self._at_hand.refresh()
        if self._shown is None or self._shown.head != self._at_hand.head:
            at_hand = self._at_hand
            view = self._viewer.view(
                at_hand.leg,
                at_hand.head,
                at_hand.sounds,
                at_hand.listened,
                at_hand.dropped.keys(),
            )
            known = {} if self._shown is None else _parts(self._shown)
            for key, part in _parts(view).items():
                before = known.get(key)
                if before is not part and before != part:
                    self._changed[key] = view.head
            self._shown = view
        return self._shown

    def changes(self, since: int) -> Changes:
        """What is otherwise than after event ``since``."""
        view = self.view()
        return Changes(
            head=view.head,
            rows=tuple(r for r in view.rows if self._changed[type(r), r.number] > since),
            gaps=tuple(g for g in view.gaps if self._changed[type(g), g.id] > since),
            gap_ids=tuple(gap.id for gap in view.gaps),
            end=view.end,
            notices=view.notices,
            comments=view.comments,
            counter=view.counter,
            sign_off=view.sign_off,
            sign_offs=view.sign_offs,
        )

    def options(self, number: int) -> tuple[Option, ...]:
        """What else was heard for an entry."""
        entry = self.entry(number)
        heard = self.heard_of(number)
        if heard is None:
            return ()
        return options(heard, self.grammar, self._at_hand.leg.settings, entry.entry)

    def gap_options(self, number: int) -> tuple[Option, ...]:
        """What was heard in the speech that event ``number`` tells."""
        return options(self.speech(number), self.grammar, self._at_hand.leg.settings, None)

    def heard_of(self, number: int) -> Heard | None:
        """How an entry was heard; ``None`` for one that was not said on the leg."""
        return self._at_hand.sounds.of(self.entry(number).spoken_at)

    def speech(self, number: int) -> Heard:
        """The speech that event ``number`` tells; raises ``LegbookError`` where it tells none."""
        for found, heard in self._at_hand.sounds.heard.values():
            if found == number:
                return heard
        raise LegbookError(f"Event {number} is no speech.")

    def history(self, number: int) -> tuple[Row, ...]:
        """An entry with those that it replaced and those that replaced it, the first record first."""
        rows = {row.number: row for row in self.view().rows}
        self.entry(number)
        first = number
        while (before := rows[first].replaces) is not None:
            first = before
        found = {first}
        for row in rows.values():
            if row.replaces in found:
                found.add(row.number)
        return tuple(rows[one] for one in sorted(found))

    def entry(self, number: int) -> LegEntry:
        """An entry; raises ``LegbookError`` where there is none of this number."""
        self._at_hand.refresh()
        return self._at_hand.entry(number)

    def clip(self, name: str) -> bytes:
        """A sound, as a FLAC file.

        Raises ``ClipError`` where the journal names none such, or it is not as it was kept.
        """
        sha256 = self._at_hand.sounds.clips().get(name)
        if sha256 is None:
            raise ClipError(f"There is no sound {name} in this leg.", was_kept=False)
        if (policy := self._at_hand.dropped.get(name)) is not None:
            raise ClipError(f"Sound clip {name} had to go. {policy}", was_kept=True)
        try:
            return clips.content(self._at_hand.folders, Clip(name=name, sha256=sha256))
        except clips.ClipError as fault:
            raise ClipError(str(fault), was_kept=True) from fault

    # --- acting ----------------------------------------------------------------------------------

    def get_ready(self) -> None:
        """Open the journal for acts, so that the first need not wait; where it can be, and without waiting."""
        if self.closed is None:
            with suppress(LegbookError), self._writing(tries=1):
                pass

    def do(self, act: Act, by: Reviewer) -> Done:
        """Write an act into the journal; when this returns it is on the disk.

        Raises:
            ClosedError: where the leg can be looked at only, or is being recorded.
            ConflictError: where somebody else has changed meanwhile what the act is about.
            JournalError: where it could not be written.
            LegbookError: where it cannot be done.
        """
        if self.closed is not None:
            raise ClosedError(self.closed)
        with self._writing() as journal:
            self._at_hand.refresh()
            self._check_free(act)
            if isinstance(act, Listen):
                self._check_is_clip(act.clip)
                if act.clip in self._at_hand.listened:
                    return self._done(act, "Listened to.")
            writer = Writer(self._at_hand, self.grammar, by, self.now)
            written = writer.written(act, self.view().counter)
            self._append(journal, written.event)
        self.after_act(act)
        return self._done(act, written.said)

    def _done(self, act: Act, said: str) -> Done:
        return Done(said=said, **dict(self.changes(act.head)))

    def _check_free(self, act: Act) -> None:
        if act.head > self._at_hand.head:
            raise ConflictError("The page is of another leg, or of a later state: load it again.")
        other = meanwhile(act, self._at_hand.events[act.head :])
        if other is not None:
            raise ConflictError(self._told(act, other))

    def _told(self, act: Act, other: Event) -> str:
        """What stood in the way of an act."""
        by = getattr(other, "by", None)
        at = clock_time(self._at_hand.leg, other.at)
        who = f"by {by}" if by else "by voice"
        number = getattr(act, "number", None)
        if number is None:
            return (
                f"The leg was changed {who} at {at}. Nothing was written: look, then do it again."
            )
        now = next(row for row in self.view().rows if row.number == number)
        replaced = f" by entry {now.replaced_by}" if now.replaced_by else ""
        return (
            f"Entry {number} was changed {who} at {at}: it is {now.state}{replaced}. "
            "Nothing was written: look, then do it again."
        )

    def _check_is_clip(self, name: str) -> None:
        if name not in self._at_hand.sounds.clips():
            raise ClipError(f"There is no sound {name} in this leg.", was_kept=False)

    def _append(self, journal: Journal, event: DeskEvent) -> None:
        try:
            journal.append(event)
        except EventRefusedError:
            raise
        except JournalError:
            # never tried again on the file that failed: what it holds is no longer sure
            journal.carry_on(event.at)
            journal.append(event)
            self._at_hand.refresh()
            return
        self._at_hand.take(event)

    @contextmanager
    def _writing(self, tries: int = _TRIES) -> Iterator[Journal]:
        """The journal, ours alone for the moment of an act."""
        journal = self._open(tries)
        try:
            yield journal
        finally:
            journal.rest()

    def _open(self, tries: int) -> Journal:
        for left in reversed(range(tries)):
            try:
                if self._journal is not None and not self._journal.wake():
                    self._journal.close()
                    self._journal = None
                if self._journal is None:
                    self._journal = Journal.open(self._folder, self.now, spare=self._spare)
            except JournalBusyError as error:
                if not left:
                    raise ClosedError(
                        "The leg is still being recorded, or held by another program. "
                        "Nothing was written; do it again later."
                    ) from error
                time.sleep(_BETWEEN_TRIES_S)
            else:
                return self._journal
        raise AssertionError

    def close(self) -> None:
        """Let the journal go."""
        if self._journal is not None:
            self._journal.close()
            self._journal = None


def _parts(view: View) -> dict[tuple[type, int], Row | Gap]:
    return {
        **{(type(row), row.number): row for row in view.rows},
        **{(type(gap), gap.id): gap for gap in view.gaps},
    }
