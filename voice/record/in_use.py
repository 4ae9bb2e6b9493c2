"""Programs that stand by with a key in memory, and changes of the key: never both at once.

A leg that begins while legs are written anew under another key would ask for that in flight, or begin under the old one.
Who stands by holds a lock file of its own beside the legs, and loses it with the process.
"""

from __future__ import annotations

import os
from contextlib import ExitStack, contextmanager, suppress
from typing import TYPE_CHECKING

from filelock import FileLock, Timeout

from voice.record.durable import OWNER_FILE, is_there, listed, make_folder
from voice.record.errors import JournalBusyError, JournalError, cause
from voice.record.places import legs_root

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

_IN_USE = "in-use-"
_CHANGING = "protecting.lock"
_A_LOOK_S = 0.2
"""Longer than a lock is held by who only looks whether it is held."""


@contextmanager
def standing_by() -> Iterator[None]:
    """Nobody changes what opens legs meanwhile; raises JournalBusyError where somebody is at it just now."""
    with ExitStack() as held:
        # a disk that takes no lock must not keep a leg from being flown
        with suppress(OSError, Timeout):
            make_folder(_home())
            mine = _home() / f"{_IN_USE}{os.getpid()}.lock"
            held.callback(_clear_away, mine)
            held.enter_context(_lock(mine))
        if _is_held(_home() / _CHANGING):
            raise JournalBusyError(
                "The protection of legs is being changed by another running legbook: start again when that is done."
            )
        yield


@contextmanager
def changing() -> Iterator[None]:
    """Nobody stands by, and nobody else changes what opens legs.

    Raises:
        JournalBusyError: where somebody does.
        JournalError: where the machine's folder cannot be written.
    """
    with ExitStack() as held:
        try:
            make_folder(_home())
            held.enter_context(_lock(_home() / _CHANGING))
        except Timeout:
            raise JournalBusyError(
                "The protection of legs is being changed by another running legbook. Nothing was done."
            ) from None
        except OSError as error:
            raise JournalError(f"{_home()} cannot be written: {cause(error)}.") from error
        for file in listed(_home(), f"{_IN_USE}*.lock"):
            if _is_held(file):
                raise JournalBusyError(
                    "Another legbook listens, or has a leg open at the desk: end that first. Nothing was changed."
                )
            _clear_away(file)  # one that was killed left it
        yield


def _home() -> Path:
    return legs_root().parent


def _lock(file: Path) -> FileLock:
    return FileLock(file, timeout=_A_LOOK_S, mode=OWNER_FILE, thread_local=False)


def _is_held(file: Path) -> bool:
    """Whether a running program holds it."""
    if not is_there(file):
        return False
    lock = _lock(file)
    try:
        lock.acquire()
    except Timeout:
        return True
    except OSError:
        return False  # where nothing can be written, nobody holds anything
    lock.release()
    return False


def _clear_away(file: Path) -> None:
    with suppress(OSError):
        file.unlink(missing_ok=True)
