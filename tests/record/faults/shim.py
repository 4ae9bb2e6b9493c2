"""The shim, built when it is needed, and its controls in a program that was started with it."""

from __future__ import annotations

import ctypes
import os
import subprocess
import sys
import tempfile
from enum import IntFlag
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

_SOURCE = Path(__file__).with_name("shim.c")
_KILLS = -1
"""As ``shim.c`` has it."""


class Call(IntFlag):
    """Kinds of calls, as ``shim.c`` has them."""

    CREATE = 1
    """Making a folder, or opening a file for writing."""
    WRITE = 2
    SYNC = 4
    REMOVE = 8
    """Removing or renaming."""
    READ = 16

    @classmethod
    def changing(cls) -> Call:
        """All but reading."""
        return cls.CREATE | cls.WRITE | cls.SYNC | cls.REMOVE


class Shim:
    """What of this process's calls on files fails, and where the others are written down."""

    def __init__(self) -> None:
        """Raises AttributeError in a program that was not started with the shim."""
        self._library = ctypes.CDLL(None)
        self._library.legbook_failed.restype = ctypes.c_long
        self._library.legbook_seen.restype = ctypes.c_long

    def fail(self, folder: Path, calls: Call, error: int, *, after: int, for_good: bool) -> None:
        """Let the call fail that follows on ``after`` others of its kinds, and those behind it if it is for good."""
        self._library.legbook_faults(
            os.fsencode(folder), int(calls), ctypes.c_long(after), int(for_good), error
        )

    def kill(self, folder: Path, calls: Call, *, after: int) -> None:
        """Let this process be killed just before the call that follows on ``after`` others of its kinds."""
        self.fail(folder, calls, _KILLS, after=after, for_good=False)

    def heal(self) -> None:
        """Let nothing fail any more."""
        self._library.legbook_faults(b"", 0, ctypes.c_long(-1), 0, 0)

    @property
    def failed(self) -> int:
        """How many calls failed."""
        return int(self._library.legbook_failed())

    @property
    def seen(self) -> int:
        """How many calls there were of the kinds that were to fail."""
        return int(self._library.legbook_seen())

    def watch(self, folder: Path) -> None:
        """Count and write down the calls on files in ``folder`` only."""
        self._library.legbook_watch(os.fsencode(folder))

    def log(self, descriptor: int) -> None:
        """Write down every change of a file there."""
        self._library.legbook_log(descriptor)

    def mark(self, text: str) -> None:
        """Write down between the changes what was told to somebody."""
        self._library.legbook_mark(text.encode())


def is_there() -> bool:
    """Whether this program was started with the shim."""
    return hasattr(ctypes.CDLL(None), "legbook_failed")


def run_with_shim(module: str, arguments: Sequence[str]) -> int:
    """Build the shim, and run a module of Python with it; its exit status."""
    with tempfile.TemporaryDirectory() as folder:
        library = Path(folder) / "shim.so"
        command = ["cc", "-shared", "-fPIC", "-O1", "-Wall", "-Wextra", "-Werror"]
        subprocess.run([*command, "-o", library, _SOURCE, "-ldl"], check=True)
        environment = os.environ | {"LD_PRELOAD": str(library)}
        done = subprocess.run(
            [sys.executable, "-m", module, *arguments], env=environment, check=False
        )
    return done.returncode
