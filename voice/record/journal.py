"""The journal of one leg: what is in it was said, and stays.

A leg's folder, named by its id, holds::

    journal.sqlite      the events, append-only, chained by hashes
    head                copies of the chain's head
    clips/0001.flac …   the sound
    lock                held while a program writes
    protection.json     where the leg is protected: its key, locked (`voice.record.protection`)

When a file can no longer be written it is never tried again: `Journal.carry_on` opens
``journal-2.sqlite``, in the spare folder where there is one, and the chain goes on there from the
last event that is known to be safe. Where the leg's own folder cannot be written from the start, all of
it lies in the spare folder.
"""

from __future__ import annotations

import sqlite3
from contextlib import suppress
from importlib.metadata import version
from typing import TYPE_CHECKING, Self

from filelock import Timeout

from voice.entries.heard import SAMPLE_RATE
from voice.record import clips
from voice.record.chain import START, Head, next_row
from voice.record.durable import OWNER_FOLDER, is_there, make_folder, sync_folder
from voice.record.errors import (
    EventRefusedError,
    JournalBusyError,
    JournalDamagedError,
    JournalError,
    cause,
)
from voice.record.events import (
    Clip,
    Continued,
    Event,
    LegStarted,
    Noticed,
    Sealed,
    from_text,
    to_text,
)
from voice.record.headfile import HeadFile
from voice.record.only_writer import writers_lock
from voice.record.part import Part, is_plain
from voice.record.protection import OPENED, lock_of, lock_of_new_legs, mark, own_lock
from voice.record.reading import leg_folders, part_name, parts, read_chain, uncollected
from voice.record.replay import Replay

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path
    from types import TracebackType

    import numpy as np
    from filelock import FileLock
    from numpy.typing import NDArray

    from voice.entries.leg import Leg, LegSettings
    from voice.record.data_key import DataKey
    from voice.record.protection import Lock
    from voice.record.signing import SigningKey


class Journal:
    """A leg's journal, open for writing; made by `create` or `open`."""

    def __init__(self, folders: list[Path], replay: Replay, head: Head) -> None:
        self._folders = folders
        self._replay = replay
        self._head = head
        self._folder = folders[0]
        self._part: Part | None = None
        self._failure: JournalError | None = None
        self._part_number = 0  # of the newest file, were its disk to go
        self._clip_number = 0
        self.sound_failure: str | None = None
        """Why the last clip had to go into the other folder, in half a sentence."""
        self._last_at: datetime | None = None
        self._locks: dict[Path, FileLock] = {}
        self._protection: Lock | None = None
        self._key: DataKey | None = None

    @classmethod
    def create(  # noqa: PLR0913 - what a leg starts with is told in full
        cls,
        folder: Path,
        settings: LegSettings,
        at: datetime,
        *,
        grammar_digest: str,
        model_digest: str,
        spare: Path | None = None,
    ) -> Self:
        """Start a leg in a new folder, whose name is the leg's id.

        ``spare`` is where the journal goes on when ``folder`` fails, and where it begins when that
        cannot be written at all: best on another disk.

        Raises:
            JournalError: where the leg is there already or neither folder can be written.
        """
        folders = leg_folders(folder, spare)
        if any(map(is_there, folders)):
            raise _is_there_already(folder.name)
        journal = cls(folders, Replay(), START)
        journal._protect_by(lock_of_new_legs())
        start = LegStarted(
            at=at,
            leg_id=folder.name,
            settings=settings,
            grammar_digest=grammar_digest,
            model_digest=model_digest,
            program_version=version("legbook"),
        )
        try:
            journal._start(start)
        except JournalError:
            journal.close()
            raise
        return journal

    def _start(self, start: LegStarted) -> None:
        """Write the first event, in the first folder that takes it."""
        failures = []
        for folder in self._folders:
            try:
                self._claim(folder)
                self._open_new_part(folder)
                self._failure = None
                self.append(start)
            except (JournalBusyError, FileExistsError):
                raise _is_there_already(self.leg_id) from None
            except JournalError as error:
                failures.append(str(error))
                continue
            for failed, failure in zip(self._folders, failures, strict=False):
                self._note_elsewhere(failed)
                self.append(Noticed(at=start.at, text=failure))
            return
        raise JournalError(f"The leg cannot be started. {failures[0]}")

    @staticmethod
    def _claim(folder: Path) -> None:
        """Make the leg's folder; raises FileExistsError where another program has begun a leg of this id just now."""
        parent_is_there = False
        try:
            make_folder(folder.parent)
            parent_is_there = True
            folder.mkdir(mode=OWNER_FOLDER)
            sync_folder(folder.parent)
        except OSError as error:
            if parent_is_there and isinstance(error, FileExistsError):
                raise
            raise JournalError(f"No new journal file can be made: {cause(error)}.") from error

    @classmethod
    def open(
        cls, folder: Path, at: datetime, *, spare: Path | None = None, though_sealed: bool = False
    ) -> Self:
        """Go on with a leg where it was, after a crash or a break.

        A sealed leg is opened only where that is asked for, to let its sound go.

        Raises:
            JournalBusyError: where another program writes to it.
            JournalDamagedError: where it is not as it was written.
            JournalError: where there is no such leg, or it cannot be written.
        """
        folders = leg_folders(folder, spare)
        if not parts(folders):
            raise JournalError(f"There is no leg in {folder}.")
        journal = cls(folders, Replay(), START)
        journal._protect_by(journal._found_lock())
        try:
            journal._lock_all()
            journal._go_on(at, though_sealed=though_sealed)
        except JournalError:
            journal.close()
            raise
        return journal

    @uncollected()
    def _go_on(self, at: datetime, *, though_sealed: bool) -> None:
        chain = read_chain(self._folders, in_short=True)
        if chain.findings:
            raise JournalDamagedError(
                f"The journal of leg {self.leg_id} is damaged: {chain.findings[0]} "
                "Leave its folder as it is and start a new leg."
            )
        if chain.replay.sealed and not though_sealed:
            raise JournalError(f"Leg {self.leg_id} is sealed: nothing can be added to it.")
        self._replay = chain.replay
        self._head = chain.head
        self._part_number = chain.last_part_number
        self._clip_number = clips.highest_number(clips.dropped(chain.events))
        self._last_at = chain.last_at
        if chain.last_part is not None:
            self._folder = chain.last_part.parent
        head_file = HeadFile(self._folder)
        try:
            if chain.head_is_behind:
                head_file.add(self._head)
            if chain.last_part is not None and not head_file.failed():
                self._part = Part(chain.last_part)
                return
            self._failure = JournalError("The last journal file could not be written.")
        except (OSError, sqlite3.Error) as error:
            self._failure = JournalError(f"The journal cannot be opened: {cause(error)}.")
        failure = self._failure
        try:
            self.carry_on(at)
        except JournalError:
            raise failure from None

    def _protect_by(self, lock: Lock | None) -> None:
        self._protection = lock
        self._key = None if lock is None else OPENED.key(lock)

    def _found_lock(self) -> Lock | None:
        """The leg's lock; the machine's, of a protected leg whose own was lost: what is written on is to be protected too."""
        if (lock := lock_of(self._folders)) is not None:
            return lock
        with suppress(OSError):  # a dead disk is met with later
            if not all(map(is_plain, parts(self._folders).values())):
                return own_lock()
        return None

    @property
    def leg_id(self) -> str:
        """The leg's id, which is its folder's name."""
        return self._folders[0].name

    @property
    def in_spare(self) -> bool:
        """Whether it is written in the spare folder, because the leg's own failed."""
        return self._folder != self._folders[0]

    @property
    def head(self) -> Head:
        """Where the chain stands; worth noting outside the machine."""
        return self._head

    @property
    def last_at(self) -> datetime | None:
        """When the last event was written; ``None`` before the first."""
        return self._last_at

    @property
    def next_number(self) -> int:
        """The number of the next entry."""
        return self._replay.next_number

    def leg(self) -> Leg:
        """The leg as it stands."""
        return self._replay.leg()

    def append(self, event: Event) -> None:
        """Write one event; when this returns it is on the disk and will be there after a crash.

        Raises:
            EventRefusedError: where it contradicts the leg; nothing was written.
            JournalError: where it could not be written. It does not count as written, and the
                journal takes nothing more until `carry_on`.
        """
        if self._failure is not None or self._part is None:
            raise JournalError("The journal has failed and takes nothing more.")
        text = to_text(event)
        event = from_text(text)
        self._replay.check(event)
        row = next_row(self._head, text)
        head = Head(row.number, row.hash)
        try:
            self._part.append(row)
            HeadFile(self._folder).add(head)
        except (OSError, sqlite3.Error) as error:
            self._fail(error)
        self._head = head
        self._last_at = event.at
        self._replay.add(event)

    def add_clip(self, samples: NDArray[np.int16], rate_hz: int = SAMPLE_RATE) -> Clip:
        """Keep sound, in the other folder if need be; name the clip in the event that follows.

        Raises:
            JournalError: where it could not be written. Events are still taken.
        """
        failures = []
        for folder in sorted(self._folders, key=lambda f: f != self._folder):
            # a failed try may leave its name behind
            there = clips.highest_number(clips.names(self._folders))
            self._clip_number = max(self._clip_number, there) + 1
            try:
                mark(folder, self._protection)
                clip = clips.write(folder, self._clip_number, samples, rate_hz, self._key)
            except OSError as error:
                failures.append(error)
                continue
            self.sound_failure = cause(failures[0]) if failures else None
            return clip
        raise JournalError(f"The sound was not kept: {cause(failures[0])}.") from failures[0]

    def carry_on(self, at: datetime) -> None:
        """After a failed `append`: go on in a new file, in the other folder if there is one.

        Raises:
            JournalError: where no folder can be written; it may be tried again.
        """
        failure = self._failure
        if failure is None:
            raise EventRefusedError("The journal has not failed.")
        failed_folder = self._folder
        for folder in sorted(self._folders, key=lambda f: f == failed_folder):
            try:
                self._open_new_part(folder)
                HeadFile(folder).add(self._head)  # the failed folder may not know it
                self._failure = None
                self.append(Continued(at=at, why=str(failure)))
            except (JournalError, OSError):
                self._failure = failure
                continue
            if folder != failed_folder:
                self._note_elsewhere(failed_folder)
            return
        raise JournalError("No journal can be written any more: write by hand from now on.")

    def seal(self, at: datetime, key: SigningKey | None = None) -> Head:
        """Close the leg for good, and sign it; gives the head to be noted elsewhere. Raises as `append`."""
        signature = key.sign(self.leg_id, self._head, at) if key else None
        self.append(Sealed(at=at, head=self._head.hash, signature=signature))
        return self._head

    def rest(self) -> None:
        """Let others write to the leg, until `wake`."""
        for lock in self._locks.values():
            with suppress(OSError):  # the system lets it go with the process
                lock.release()
        self._locks.clear()

    def wake(self) -> bool:
        """After `rest`, be the only writer again; whether nobody has written meanwhile.

        Where somebody has, only `close` is left to do. Raises JournalBusyError and JournalError as `open`.
        """
        self._lock_all()
        newest = list(parts(self._folders).values())[-1:]
        try:
            return (
                self._part is not None
                and newest == [self._part.path]
                and self._part.in_place
                and self._part.last() == self._head
                and self._is_protected_as_before()
            )
        except (sqlite3.Error, JournalError):
            return False

    def _is_protected_as_before(self) -> bool:
        """Whether what opens the leg has stayed the same; else what is written next may lie in clear, or under an old key."""
        lock = self._found_lock()
        return (lock and lock.key_id) == (self._protection and self._protection.key_id)

    def close(self) -> None:
        """Let the files go; nothing is lost without it."""
        if self._part is not None:
            self._part.close()
            self._part = None
        self.rest()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        _kind: type[BaseException] | None,
        _error: BaseException | None,
        _trace: TracebackType | None,
    ) -> None:
        self.close()

    def _lock_all(self) -> None:
        """Be the only writer, in every folder of a leg that is there; a dead disk is no hindrance."""
        failures = []
        for folder in filter(is_there, self._folders):
            try:
                self._lock(folder)
            except OSError as error:
                failures.append(error)
        if failures and not self._locks:
            raise JournalError(f"The journal cannot be opened: {cause(failures[0])}.")

    def _lock(self, folder: Path) -> None:
        """Be the only writer in ``folder``; raises OSError where it cannot be written."""
        if folder in self._locks:
            return
        lock = writers_lock(folder)
        try:
            lock.acquire()
        except Timeout:
            raise JournalBusyError(
                f"Leg {self.leg_id} is being written by another running legbook: stop that first."
            ) from None
        self._locks[folder] = lock

    def _open_new_part(self, folder: Path) -> None:
        number = max([self._part_number, *parts(self._folders)]) + 1
        try:
            make_folder(folder)
            self._lock(folder)
            mark(folder, self._protection)
            self._part = Part.create(folder / part_name(number), self._key)
        except (OSError, sqlite3.Error) as error:
            raise JournalError(f"No new journal file can be made: {cause(error)}.") from error
        self._folder, self._part_number = folder, number

    def _note_elsewhere(self, failed: Path) -> None:
        if is_there(failed):
            with suppress(OSError):  # that disk may be dead; the spare is looked for anyway
                HeadFile(failed).note_elsewhere()

    def _fail(self, error: OSError | sqlite3.Error) -> None:
        self._failure = JournalError(f"The journal cannot be written: {cause(error)}. Not kept.")
        if self._part is not None:
            self._part.close()
            self._part = None
        with suppress(OSError):
            HeadFile(self._folder).note_failure()
        raise self._failure from error


def _is_there_already(leg_id: str) -> JournalError:
    return JournalError(f"There is a leg {leg_id} already: choose another id.")
