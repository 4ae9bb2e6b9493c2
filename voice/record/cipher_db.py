"""A protected journal file: SQLCipher, with the manners of ``sqlite3``.

SQLCipher keeps every page of the file, and of its rollback journal, in AES-256 with a hash over each; temporary
files it has none, for it keeps in memory what others would put there. The key is given as it is, so nothing has to be
derived when a file is opened.
"""

from __future__ import annotations

import sqlite3
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Self

from sqlcipher3 import dbapi2 as sqlcipher

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from types import TracebackType


class Rows:
    """What a statement gave, all of it."""

    def __init__(self, rows: list[tuple[Any, ...]]) -> None:
        self._rows = rows

    def fetchone(self) -> Any:
        """The first row; ``None`` where there is none."""
        return self._rows[0] if self._rows else None

    def fetchall(self) -> list[tuple[Any, ...]]:
        """All rows."""
        return self._rows

    def __iter__(self) -> Iterator[tuple[Any, ...]]:
        return iter(self._rows)


class CipherConnection:
    """A connection to a protected file; each failure is raised as the ``sqlite3.Error`` that it would be there."""

    def __init__(self, uri: str, key: bytes, timeout_s: float) -> None:
        with _as_sqlite():
            self._db = sqlcipher.connect(uri, uri=True, isolation_level=None, timeout=timeout_s)
            self._db.execute("PRAGMA cipher_log_level = NONE")
            self._db.execute(f"PRAGMA key = \"x'{key.hex()}'\"")

    def execute(self, statement: str, values: Sequence[Any] = ()) -> Rows:
        """Run one statement to its end; raises sqlite3.Error."""
        with _as_sqlite():
            return Rows(self._db.execute(statement, tuple(values)).fetchall())

    def executemany(self, statement: str, values: Iterable[Sequence[Any]]) -> None:
        """Run one statement for each; raises sqlite3.Error."""
        with _as_sqlite():
            self._db.executemany(statement, map(tuple, values))

    def close(self) -> None:
        """Let the file go; raises sqlite3.Error."""
        with _as_sqlite():
            self._db.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Commit what was begun, or undo it."""
        with _as_sqlite():
            self._db.__exit__(kind, error, trace)


@contextmanager
def _as_sqlite() -> Iterator[None]:
    try:
        yield
    except sqlcipher.Error as error:
        translated = getattr(sqlite3, type(error).__name__, sqlite3.DatabaseError)(*error.args)
        translated.sqlite_errorname = getattr(error, "sqlite_errorname", "")
        raise translated from error
