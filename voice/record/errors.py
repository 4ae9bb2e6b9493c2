"""What can go wrong with a journal, each as a sentence that can be spoken."""

from __future__ import annotations

import errno
from typing import TYPE_CHECKING

from voice.entries.errors import LegbookError

if TYPE_CHECKING:
    import sqlite3


class JournalError(LegbookError):
    """The journal could not be written or read; what it already holds is untouched."""


class JournalBusyError(JournalError):
    """Another running program writes to this leg."""


class JournalDamagedError(JournalError):
    """The journal is not as it was written."""


class EventRefusedError(LegbookError):
    """The event contradicts the leg as it stands; nothing was written and the journal is well."""


_OS_CAUSES = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "the disk quota is used up",
    errno.EIO: "the disk does not answer properly",
    errno.EROFS: "the disk is read-only",
    errno.EACCES: "access to the folder is not allowed",
    errno.ENOENT: "the folder is gone",
}

_SQLITE_CAUSES = {
    "SQLITE_FULL": "the disk is full",
    "SQLITE_IOERR": "the disk does not answer properly",
    "SQLITE_READONLY": "the file is read-only",
    "SQLITE_CANTOPEN": "the file cannot be opened",
    "SQLITE_BUSY": "another program holds the file",
    "SQLITE_CORRUPT": "the file is damaged",
    "SQLITE_NOTADB": "it is damaged, is no journal, or is protected by a key that is not here",
}


def cause(error: OSError | sqlite3.Error) -> str:
    """Half a sentence that says in plain words why a file could not be used."""
    if isinstance(error, OSError):
        known = _OS_CAUSES.get(error.errno or 0)
        return known or (error.strerror or str(error)).lower()
    name = getattr(error, "sqlite_errorname", "")
    for prefix, words in _SQLITE_CAUSES.items():
        if name.startswith(prefix):
            return words
    return str(error)
