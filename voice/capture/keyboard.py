"""Keys of the terminal, as foot switches and the buttons of many headsets send them.

A key tells when it is pressed and, held down, tells it again and again; it does not tell when it is
let go. So a press is all that is taken from it.
"""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from typing import TYPE_CHECKING, Protocol

from voice.entries.errors import LegbookError

if TYPE_CHECKING:
    from types import TracebackType
    from typing import Self


_NO_KEYS = (
    "No keys can be read here: start legbook in a terminal on Linux or macOS, or choose another "
    "attention, as with: --attention always"
)


class KeyboardError(LegbookError):
    """There is no terminal whose keys could be read."""


class Keys(Protocol):
    """Something that is pressed."""

    def pressed(self) -> bool:
        """Whether any key was pressed since the last call; returns at once."""

    def close(self) -> None:
        """Leave the keys as they were found."""


class TerminalKeys:
    """Any key of the terminal that ``file`` is; Ctrl-C ends the program as ever.

    Use as a context manager, or ``close()`` it: until then keys are not shown as they are typed.
    """

    def __init__(self, file: int | None = None) -> None:
        """Read keys one by one from ``file``, a file descriptor: standard input if left out.

        Raises ``KeyboardError`` where that is no terminal. Windows is not supported: it has another
        way of reading keys, which nobody here could try.
        """
        try:
            import termios  # noqa: PLC0415 - Windows has none
            import tty  # noqa: PLC0415
        except ImportError:
            raise KeyboardError(_NO_KEYS) from None
        self._termios = termios
        try:
            self._file = sys.stdin.fileno() if file is None else file
            self._before = termios.tcgetattr(self._file)
            tty.setcbreak(self._file)
        except (OSError, termios.error):
            raise KeyboardError(_NO_KEYS) from None
        self._closed = False

    def pressed(self) -> bool:
        """Whether any key was pressed since the last call; returns at once."""
        import select  # noqa: PLC0415

        any_key = False
        with suppress(OSError):  # the terminal has gone: nothing is pressed any more
            while select.select([self._file], [], [], 0)[0] and os.read(self._file, 1024):
                any_key = True
        return any_key

    def close(self) -> None:
        """Show keys again as they are typed; once is enough."""
        if not self._closed:
            self._closed = True
            with suppress(self._termios.error):  # the terminal has gone
                self._termios.tcsetattr(self._file, self._termios.TCSADRAIN, self._before)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()
