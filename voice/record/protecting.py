"""Protection switched on and off, and opened by something else, for all legs of a machine.

Each step replaces one file whole, and at any moment each file can be read: one that is protected is told from one that is
not by how it begins, and the key stays in its place until nothing needs it. Killed anywhere, nothing is lost, and the same
command goes on where it stopped.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

from filelock import Timeout

from voice.record import clips, headfile, only_writer
from voice.record.durable import (
    is_there,
    listed,
    remove_file,
    replace_file,
    sync_folder,
)
from voice.record.errors import JournalBusyError, JournalError, cause
from voice.record.only_writer import writers_lock
from voice.record.part import Part, is_plain
from voice.record.protection import (
    NAME,
    OPENED,
    DataKey,
    Lock,
    LockedError,
    is_locked_sound,
    lock_of,
    lock_with,
    mark,
    new_data_key,
    own_files,
    own_lock,
    write_lock,
)
from voice.record.reading import leg_folders, parts

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

_IN_THE_MAKING = ".new"
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
    return _write_own(lock.model_copy(update={"on": before.on}))


def lock_anew(folder: Path, spare: Path | None, lock: Lock) -> None:
    """Write the machine's new lock into a leg's folders, where they have one of the same key; raises JournalError."""
    for one in leg_folders(folder, spare):
        there = lock_of([one])
        if there is not None and there.key_id == lock.key_id and there != lock:
            _write(one / NAME, lock)


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


def convert(folder: Path, spare: Path | None, lock: Lock) -> int:
    """Protect every file of a leg, where ``lock`` is on, else take the protection off; how many were changed.

    Raises:
        JournalBusyError: where another program writes the leg.
        JournalError: where a file cannot be read, or written; it stays as it was.
    """
    folders = [one for one in leg_folders(folder, spare) if is_there(one)]
    key = OPENED.key(lock)
    locks = [writers_lock(one) for one in folders]
    try:
        for one in locks:
            one.acquire()
        return sum(_converted(folders, lock, key))
    except Timeout:
        raise JournalBusyError(
            f"Leg {folder.name} is being written by another running legbook: it stays as it is."
        ) from None
    except (OSError, sqlite3.Error) as error:
        raise JournalError(f"Leg {folder.name} could not be changed: {cause(error)}.") from error
    finally:
        for one in locks:
            one.release()


def left_in_clear(folder: Path, spare: Path | None) -> list[Path]:
    """Files for people in a leg's folders: summaries, pages and exports, which are never encrypted."""
    return [
        file
        for one in leg_folders(folder, spare)
        for file in listed(one, "*")
        if file.is_file()
        and not file.name.startswith("journal")
        and file.name not in _NOT_FOR_PEOPLE
    ]


def _converted(folders: list[Path], lock: Lock, key: DataKey) -> Iterator[bool]:
    for folder in folders:
        if (there := lock_of([folder])) is not None and there.key_id != lock.key_id:
            raise LockedError(f"Leg {folder.name} was protected on another machine: it stays so.")
        if lock.on:
            mark(folder, lock)
    for path in parts(folders).values():
        yield _convert_part(path, key if lock.on else None, lock_before=key)
    for folder in folders:
        for path in listed(folder / clips.FOLDER, "*.flac"):
            yield _convert_sound(path, key, protect=lock.on)
    for folder in folders:
        if not lock.on and is_there(folder / NAME):
            remove_file(folder / NAME)


def _convert_part(path: Path, key: DataKey | None, *, lock_before: DataKey) -> bool:
    """Write a journal file anew, under another name, look whether it holds the same, and put it in its place."""
    if path.stat().st_size == 0 or is_plain(path) == (key is None):
        return False
    with closing(Part(path, None if key else lock_before)) as part:
        rows = part.rows()
    new = path.with_name(f".{path.name}{_IN_THE_MAKING}")
    for left in (new, new.with_name(f"{new.name}-journal")):
        if is_there(left):
            left.unlink()  # by one that was killed
    with closing(Part.create(new, key)) as part:
        part.append_all(rows)
        if part.rows() != rows:
            raise sqlite3.DatabaseError("what was written is not what is read")
    new.replace(path)
    sync_folder(path.parent)
    return True


def _convert_sound(path: Path, key: DataKey, *, protect: bool) -> bool:
    content = path.read_bytes()
    if is_locked_sound(content) == protect:
        return False
    new = key.lock_sound(path.name, content) if protect else key.open_sound(path.name, content)
    if new is None:
        return False  # changed by somebody: verify tells
    replace_file(path, new)
    return True
