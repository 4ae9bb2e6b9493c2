"""One writer at a time for each leg: who writes holds a lock in its folder, and loses it with the process."""

from __future__ import annotations

from typing import TYPE_CHECKING

from filelock import FileLock, Timeout

from voice.record.durable import OWNER_FILE, is_there

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

NAME = "lock"


def writers_lock(folder: Path) -> FileLock:
    """The lock of a leg's ``folder``, not taken yet; ``acquire`` raises ``Timeout`` at once where another holds it."""
    return FileLock(folder / NAME, timeout=0, mode=OWNER_FILE, thread_local=False)


def is_written(folders: Iterable[Path]) -> bool:
    """Whether somebody holds the lock in one of a leg's ``folders`` just now; it is taken for a moment to see."""
    for folder in folders:
        if not is_there(folder / NAME):
            continue
        lock = writers_lock(folder)
        try:
            lock.acquire()
        except Timeout:
            return True
        except OSError:
            continue  # where nothing can be written, nobody writes
        lock.release()
    return False
