"""The files of a leg written anew: encrypted, under another data key, or in clear.

Each step replaces one file whole, and at any moment each file can be read: one that is protected is told from one that is
not by how it begins, and the leg's lock holds every key by which one of its files opens. Killed anywhere, the leg is whole,
and the same command goes on where it stopped. Nothing that is protected before and after lies in clear in between.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from filelock import Timeout

from voice.record import clips
from voice.record.data_key import is_locked_sound
from voice.record.durable import (
    beside,
    is_there,
    left_beside,
    listed,
    remove_file,
    replace_file,
    sync_folder,
)
from voice.record.errors import JournalBusyError, JournalError, cause
from voice.record.only_writer import writers_lock
from voice.record.part import Part, is_plain, key_that_opens
from voice.record.protection import (
    NAME,
    OPENED,
    Lock,
    OtherMachineError,
    lock_of,
    write_lock,
)
from voice.record.reading import leg_folders, parts, spare_is_missing

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from voice.record.data_key import DataKey


@dataclass(frozen=True)
class Converted:
    """What became of a leg's files."""

    changed: int
    """How many were written anew."""
    unopened: tuple[str, ...] = ()
    """Names of sounds that no key opens: they stay as they are, and `voice.record.shelf.verify` tells of them."""


def convert(folder: Path, spare: Path | None, lock: Lock) -> Converted:
    """Protect every file of a leg with the newest key of ``lock``, where that is on; else take the protection off.

    Raises:
        JournalBusyError: where another program writes the leg.
        OtherMachineError: where the leg is of another machine.
        JournalError: where a file cannot be read, or written, or its disk is not here; what was not reached stays as it was.
    """
    folders = [one for one in leg_folders(folder, spare) if is_there(one)]
    keys = OPENED.keys(lock)
    locks = [writers_lock(one) for one in folders]
    try:
        for one in locks:
            one.acquire()
        return _converted(folders, lock, keys)
    except Timeout:
        raise JournalBusyError(
            f"Leg {folder.name} is being written by another running legbook: it stays as it is."
        ) from None
    except (OSError, sqlite3.Error) as error:
        raise JournalError(f"Leg {folder.name} could not be changed: {cause(error)}.") from error
    finally:
        for one in locks:
            one.release()


def _converted(folders: Sequence[Path], lock: Lock, keys: Sequence[DataKey]) -> Converted:
    for folder in folders:
        if (there := lock_of([folder])) is not None and there.key_id not in lock.known:
            raise OtherMachineError(
                f"Leg {folder.name} was protected on another machine: it stays so."
            )
    if spare_is_missing(folders):
        raise JournalError(
            f"Leg {folders[0].name} goes on in a spare folder that is not here: bring that disk back."
        )
    if lock.on:
        _lock_all(folders, lock.as_leg_has_it())
    for folder in folders:
        _remove_half_done(folder)
    done = [_convert_part(path, keys, protect=lock.on) for path in parts(folders).values()]
    unopened = []
    for path in [path for one in folders for path in listed(one / clips.FOLDER, "*.flac")]:
        became = _convert_sound(path, keys, protect=lock.on)
        done.append(became is True)
        unopened += [path.name] if became is None else []
    if not lock.on:
        for folder in filter(lambda one: is_there(one / NAME), folders):
            remove_file(folder / NAME)
    return Converted(sum(done), tuple(unopened))


def _lock_all(folders: Iterable[Path], lock: Lock) -> None:
    """Before a file is written anew, each folder holds the key by which it will open, and those of before."""
    for folder in folders:
        if lock_of([folder]) != lock:
            write_lock(folder / NAME, lock)


def _remove_half_done(folder: Path) -> None:
    """What one that was killed left, which may lie in clear."""
    for left in (
        *left_beside(folder, "journal*.sqlite"),
        *left_beside(folder / clips.FOLDER, "*.flac"),
    ):
        remove_file(left)


def _convert_part(path: Path, keys: Sequence[DataKey], *, protect: bool) -> bool:
    """Write a journal file anew, under another name, look whether it holds the same, and put it in its place.

    Where its name is a link, that is the file that it leads to: else what was in clear would stay there.
    """
    path = path.resolve()
    if path.stat().st_size == 0:
        return False
    plain, wanted = is_plain(path), keys[0] if protect else None
    before = None if plain else key_that_opens(path, keys)
    if not plain and before is None:
        raise sqlite3.DatabaseError(
            f"{path.name} is damaged, or protected by a key that is not here"
        )
    if before == wanted:
        return False
    with closing(Part(path, before)) as part:
        rows = part.rows()
    new = beside(path)
    try:
        with closing(Part.create(new, wanted)) as part:
            part.append_all(rows)
        with closing(Part(new, wanted)) as part:
            if part.rows() != rows or part.faults():
                raise sqlite3.DatabaseError("what was written is not what is read")
        new.replace(path)
    except (OSError, sqlite3.Error):
        with suppress(OSError):
            new.unlink()
        raise
    sync_folder(path.parent)
    return True


def _convert_sound(path: Path, keys: Sequence[DataKey], *, protect: bool) -> bool | None:
    """Whether a sound was written anew; ``None`` where no key opens it."""
    content = path.read_bytes()
    if is_locked_sound(content):
        if protect and keys[0].open_sound(path.name, content) is not None:
            return False
        sound = clips.opened(path.name, content, keys[0 if not protect else 1 :])
        if sound is None:
            return None
    elif protect:
        sound = content
    else:
        return False
    replace_file(path.resolve(), keys[0].lock_sound(path.name, sound) if protect else sound)
    return True
