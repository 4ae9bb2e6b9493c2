"""The copies of the chain's head that lie outside the database, in the file ``head``.

One line a row, with its number and hash, written when the row is safely in the database. So the
last line is the head, a row that was changed is named even where the whole chain was worked out
anew, and rows cut off the end are missed. After a crash between the two writes the file is one
line behind: that is no tampering.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from voice.record.chain import Head, Row
from voice.record.durable import append_line

if TYPE_CHECKING:
    from pathlib import Path

NAME = "head"
_FAILED = "failed"
_ELSEWHERE = "elsewhere"
_LINE = re.compile(r"([1-9][0-9]{0,17}) ([0-9a-f]{64})")


def noted(head: Head | Row) -> str:
    """The line that notes a head, or what is the head when the row is the last one."""
    return f"{head.number} {head.hash}"


def noted_head(line: str) -> Head | None:
    """The head that a line notes; ``None`` where it notes something else, or a crash tore it."""
    found = _LINE.fullmatch(line)
    return Head(int(found[1]), found[2]) if found else None


class HeadFile:
    """The head file of one folder."""

    def __init__(self, folder: Path) -> None:
        self._path = folder / NAME

    def add(self, head: Head) -> None:
        """Note the head on the disk; raises OSError."""
        append_line(self._path, noted(head))

    def note_failure(self) -> None:
        """Note that the journal's last file here must not be written again; raises OSError."""
        append_line(self._path, _FAILED)

    def note_elsewhere(self) -> None:
        """Note that the journal goes on in the other folder; raises OSError."""
        append_line(self._path, _ELSEWHERE)

    def lines(self) -> list[str]:
        """All that was noted, in the order of writing; `noted_head` tells what a line says."""
        return self._text().split("\n")

    def failed(self) -> bool:
        """Whether the journal's last file here must not be written again."""
        return self._last_line() == _FAILED

    def goes_on_elsewhere(self) -> bool:
        """Whether the journal's end lies in the other folder."""
        return self._last_line() == _ELSEWHERE

    def _last_line(self) -> str:
        return self._text().removesuffix("\n").rpartition("\n")[2]

    def _text(self) -> str:
        try:
            return self._path.read_text("ascii", errors="replace")
        except OSError:
            return ""
