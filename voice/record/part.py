"""One journal file: an SQLite table that can only grow at its end.

Rollback journal rather than write-ahead log: a leg is a few hundred rows, so speed is no concern,
and between two events the leg is one plain file that can be copied and read anywhere. With
``synchronous = EXTRA`` the folder is synced after each commit too, so that a power loss just after
it cannot bring the rollback journal back and undo it (SQLite's documentation of the pragma).
"""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from typing import TYPE_CHECKING, Self

from voice.record.chain import START, Head, Row
from voice.record.durable import make_file
from voice.record.errors import cause
from voice.record.protection import keys_of

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from voice.record.cipher_db import CipherConnection
    from voice.record.data_key import DataKey

_PLAIN = b"SQLite format 3\0"
"""How a file that is not protected begins."""
_APPLICATION_ID = 0x4C454742  # "LEGB", shown by file(1)
_FORMAT = 1
_WAIT_S = 5.0

SCHEMA = (
    """CREATE TABLE event (
    number INTEGER PRIMARY KEY,
    previous TEXT NOT NULL,
    text TEXT NOT NULL,
    hash TEXT NOT NULL
) STRICT""",
    """CREATE TRIGGER only_at_the_end BEFORE INSERT ON event
WHEN EXISTS (SELECT 1 FROM event)
    AND (NEW.number, NEW.previous)
        <> (SELECT number + 1, hash FROM event ORDER BY number DESC LIMIT 1)
BEGIN SELECT RAISE(ABORT, 'a journal grows only at its end'); END""",
    """CREATE TRIGGER never_changed BEFORE UPDATE ON event
BEGIN SELECT RAISE(ABORT, 'a journal is never changed'); END""",
    """CREATE TRIGGER never_removed BEFORE DELETE ON event
BEGIN SELECT RAISE(ABORT, 'a journal is never shortened'); END""",
)


class Part:
    """One journal file; every method raises sqlite3.Error where the file cannot be used."""

    def __init__(self, path: Path, key: DataKey | None = None) -> None:
        """Open a file that is there, or a new one that is to be protected with ``key``."""
        self.path = path
        self._identity = identity(path)
        self._db = _connected(path, key)
        try:
            self._db.execute("PRAGMA journal_mode = DELETE")
            self._db.execute("PRAGMA synchronous = EXTRA")
        except sqlite3.Error:
            self.close()
            raise

    @classmethod
    def create(cls, path: Path, key: DataKey | None = None) -> Self:
        """Make a new, empty file, protected with ``key`` if there is one; raises OSError or sqlite3.Error."""
        make_file(path, b"")
        part = None
        try:
            part = cls(path, key)
            part._lay_out()
        except sqlite3.Error:
            if part is not None:
                part.close()
            with suppress(OSError):
                path.unlink()  # it never held an event
            raise
        return part

    def _lay_out(self) -> None:
        with self._db:
            self._db.execute("BEGIN")
            self._db.execute(f"PRAGMA application_id = {_APPLICATION_ID}")
            self._db.execute(f"PRAGMA user_version = {_FORMAT}")
            for statement in SCHEMA:
                self._db.execute(statement)

    @property
    def in_place(self) -> bool:
        """Whether the file that was opened is still the one of that name."""
        return self._identity is not None and identity(self.path) == self._identity

    def append(self, row: Row) -> None:
        """Write one row in a transaction of its own, synced to the disk."""
        self._db.execute("INSERT INTO event VALUES (?, ?, ?, ?)", row)

    def append_all(self, rows: Iterable[Row]) -> None:
        """Write rows in one transaction."""
        with self._db:
            self._db.execute("BEGIN")
            self._db.executemany("INSERT INTO event VALUES (?, ?, ?, ?)", rows)

    def rows(self) -> list[Row]:
        """All rows by their number; none where a crash left the file without its table."""
        if not self._schema():
            return []
        select = "SELECT number, previous, text, hash FROM event ORDER BY number"
        rows = self._db.execute(select).fetchall()
        for column, kind in zip(zip(*rows, strict=True), (int, str, str, str), strict=False):
            if set(map(type, column)) != {kind}:
                raise sqlite3.DatabaseError("it holds rows that are no journal's")
        return list(map(Row._make, rows))

    def last(self) -> Head:
        """Number and hash of the last row."""
        select = "SELECT number, hash FROM event ORDER BY number DESC LIMIT 1"
        row = self._db.execute(select).fetchone()
        return START if row is None else Head(*row)

    def faults(self) -> list[str]:
        """What is wrong with the file as a database, in whole sentences."""
        schema = self._schema()
        faults = []
        if schema and schema != set(SCHEMA):
            faults.append("Its table or the guards that keep it from being changed were altered.")
        checks = self._db.execute("PRAGMA integrity_check(1)").fetchall()
        if checks != [("ok",)]:
            faults.append(f"SQLite finds it damaged: {checks[0][0]}.")
        return faults

    def _schema(self) -> set[str]:
        return {sql for (sql,) in self._db.execute("SELECT sql FROM sqlite_master") if sql}

    def close(self) -> None:
        """Let the file go; a file that fails even here is let go all the same."""
        with suppress(sqlite3.Error):
            self._db.close()


def is_plain(path: Path) -> bool:
    """Whether a journal file is one that is not protected; raises OSError.

    One that a crash left empty holds nothing to protect.
    """
    with path.open("rb") as file:
        begins = file.read(len(_PLAIN))
    return begins in {b"", _PLAIN}


def identity(path: Path) -> tuple[int, int] | None:
    """Tells a file from another one that was put in its place; ``None`` where it is not there, or its disk is silent."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def key_that_opens(path: Path, keys: Iterable[DataKey]) -> DataKey | None:
    """The first of ``keys`` that opens a protected file; ``None`` where none does: it is damaged, or another's.

    What a crash left half done in it is undone on the way, by whichever key: the pages are put back as they lie there.
    Raises sqlite3.Error.
    """
    from voice.record.cipher_db import CipherConnection  # noqa: PLC0415 - 5 MB of memory

    for key in keys:
        with closing(CipherConnection(_uri(path), key.journal, _WAIT_S)) as tried:
            try:
                tried.execute("SELECT count(*) FROM sqlite_master")
            except sqlite3.DatabaseError as error:
                if getattr(error, "sqlite_errorname", "") != "SQLITE_NOTADB":
                    raise
            else:
                return key
    return None


def _uri(path: Path) -> str:
    return f"{path.absolute().as_uri()}?mode=rw"


def _connected(path: Path, key: DataKey | None) -> sqlite3.Connection | CipherConnection:
    if key is None:
        try:
            keys = () if is_plain(path) else keys_of([path.parent])
        except OSError as error:
            raise sqlite3.OperationalError(cause(error)) from error
        key = next(iter(keys), None)
        if len(keys) > 1:
            key = key_that_opens(path, keys) or key
    if key is not None:
        from voice.record.cipher_db import CipherConnection  # noqa: PLC0415 - 5 MB of memory

        return CipherConnection(_uri(path), key.journal, _WAIT_S)
    return sqlite3.connect(_uri(path), uri=True, isolation_level=None, timeout=_WAIT_S)


def read(path: Path) -> tuple[list[Row], list[str]]:
    """The rows of a file and its faults as a database; raises sqlite3.Error."""
    was = identity(path)
    try:
        return _read(path)
    except sqlite3.Error:
        if identity(path) == was:
            raise
    return _read(path)  # it was just written anew, under another key


def _read(path: Path) -> tuple[list[Row], list[str]]:
    try:
        with closing(Part(path)) as part:
            return part.rows(), part.faults()
    except UnicodeDecodeError as error:  # SQLite quotes a damaged name in its message
        raise sqlite3.DatabaseError("it is damaged") from error
    except MemoryError as error:  # a row whose length was changed asks for all there is
        raise sqlite3.DatabaseError("it is damaged, or this machine is out of memory") from error
