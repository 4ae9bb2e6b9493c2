"""Protection switched on and off, opened by something else, and given another data key: the locks of a machine and its legs.

What follows for the files of a leg is `voice.record.converting`'s. The key stays in its place until nothing needs it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.record import clips, headfile, only_writer
from voice.record.durable import is_there, listed, remove_file
from voice.record.errors import JournalError, cause
from voice.record.protection import (
    NAME,
    OPENED,
    Lock,
    lock_of,
    lock_with,
    new_data_key,
    own_files,
    own_lock,
    write_lock,
)
from voice.record.reading import leg_folders, parts

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

_NOT_FOR_PEOPLE = {NAME, headfile.NAME, only_writer.NAME}


def switch_on(secret: bytes, key_file: Path | None = None) -> Lock:
    """From now on new legs are protected; `convert` is for those that are there.

    Where switching it off was broken off, the key is the same as before, and so is what opens it.

    Raises:
        JournalError: where the machine's file cannot be written.
        LockedError: where what opens the legs was not given.
    """
    lock = own_lock()
    if lock is None:
        key = new_data_key()
        OPENED.take(key)
        lock = lock_with(key, secret, key_file)
    OPENED.key(lock)
    return _write_own(lock.model_copy(update={"on": True}))


def switch_off() -> Lock:
    """From now on new legs are not protected; `convert` is for those that are there, then `forget_key`.

    Raises:
        JournalError: where it is not on, or the machine's file cannot be written.
        LockedError: where what opens the legs was not given.
    """
    lock = needed_lock()
    OPENED.key(lock)
    return _write_own(lock.model_copy(update={"on": False}))


def forget_key() -> None:
    """Take the machine's lock away, once no leg needs it; raises JournalError."""
    for file in filter(is_there, own_files()):
        try:
            remove_file(file)
        except OSError as error:
            raise JournalError(f"{file} cannot be removed: {cause(error)}.") from error
    OPENED.forget()


def needed_lock() -> Lock:
    """The machine's own lock; raises JournalError where protection was never switched on."""
    lock = own_lock()
    if lock is None:
        raise JournalError("Protection is off. Switch it on with: legbook protect on")
    return lock


def change(secret: bytes, key_file: Path | None = None) -> Lock:
    """Let the legs be opened by something else; then `lock_anew` each leg's own copy.

    Raises:
        JournalError: where protection is not on, or the machine's file cannot be written.
        LockedError: where what opens them now was not given.
    """
    before = needed_lock()
    lock = lock_with(OPENED.key(before), secret, key_file)
    kept = {"on": before.on, "earlier": before.earlier, "renewing": before.renewing}
    return _write_own(lock.model_copy(update=kept))


def renew(secret: bytes, key_file: Path | None = None) -> Lock:
    """Make another data key; then `voice.record.converting.convert` writes each leg anew under it, and `renewed` ends it.

    Until then what was not written anew yet opens by the key of before, which lies locked with the new one. Nothing that
    is locked with what opened the legs before leads to the new one.

    Raises:
        JournalError: where protection is not on, or the machine's file cannot be written.
        LockedError: where what opens the legs now was not given.
    """
    before = needed_lock()
    if not before.on:
        raise JournalError(
            "Switching protection off was broken off. Go on with: legbook protect off; or protect on."
        )
    key = new_data_key()
    earlier = tuple(map(key.lock_key, OPENED.keys(before)))
    OPENED.take(key)
    lock = lock_with(key, secret, key_file)
    return _write_own(lock.model_copy(update={"earlier": earlier, "renewing": True}))


def renewed() -> None:
    """Note that the newest data key has reached all legs; raises JournalError."""
    lock = needed_lock()
    if lock.renewing:
        _write_own(lock.model_copy(update={"renewing": False}))


def lock_anew(folder: Path, spare: Path | None, lock: Lock) -> None:
    """Write the machine's new lock into a leg's folders, where they have one of its keys; raises JournalError."""
    wanted = lock.as_leg_has_it()
    for one in leg_folders(folder, spare):
        there = lock_of([one])
        if there is not None and there.key_id in lock.known and there != wanted:
            _write(one / NAME, wanted)


def _write_own(lock: Lock) -> Lock:
    """The spare's copy first: while the other still has the old lock, that one counts."""
    for file in reversed(own_files()):
        _write(file, lock)
    return lock


def _write(file: Path, lock: Lock) -> None:
    try:
        write_lock(file, lock)
    except OSError as error:
        raise JournalError(
            f"{file} cannot be written: {cause(error)}. The legs are as they were."
        ) from error


def forgotten(legs: Iterable[tuple[Path, Path | None]]) -> int:
    """How many of these legs are protected by a machine that has no lock of its own any more; raises LockedError.

    Its file was deleted, or the legs come from elsewhere: a new leg would be kept in clear, and nobody told.
    """
    if own_lock() is not None:
        return 0
    return sum(lock_of(leg_folders(folder, spare)) is not None for folder, spare in legs)


def left_in_clear(folder: Path, spare: Path | None) -> list[Path]:
    """Files in a leg's folders that are never encrypted: summaries, pages, exports, and what somebody put there."""
    folders = leg_folders(folder, spare)
    own = {
        *parts(folders).values(),
        *(one / name for one in folders for name in _NOT_FOR_PEOPLE),
        *(clip for one in folders for clip in listed(one / clips.FOLDER, "*.flac")),
    }
    return [
        file
        for one in folders
        for file in listed(one, "**/*")
        if file.is_file() and file not in own
    ]
