"""The connection to a programme's database, and its tables.

The tables are made by the SQL files in ``migrations``, in the order of their numbers, each once; what
was made is noted in ``legbook.migration``. A migration only adds: machines with an older legbook go
on sending.
"""

from __future__ import annotations

from contextlib import contextmanager
from hashlib import sha256
from importlib.resources import files
from typing import TYPE_CHECKING, LiteralString, NamedTuple

import psycopg

from voice.collect.errors import CollectError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from psycopg import Connection

_LOCK = 0x6C6567626F6F6B
"""Held while tables are made: "legbook" in ASCII."""

_BOOK = """
CREATE SCHEMA IF NOT EXISTS legbook;
CREATE TABLE IF NOT EXISTS legbook.migration (
    number bigint PRIMARY KEY,
    name text NOT NULL,
    sha256 text NOT NULL,
    made_at timestamptz NOT NULL DEFAULT now()
);
COMMENT ON TABLE legbook.migration IS 'Which files of voice/collect/migrations were run here, and when.';
"""
LOCK_PATIENCE_MS = 30_000
"""How long a leg waits for another machine that sends the same one."""
_PATIENCE = """
SET tcp_keepalives_idle = 10;
SET tcp_keepalives_interval = 5;
SET tcp_keepalives_count = 3;
SET idle_in_transaction_session_timeout = 60000;
"""
"""When the database gives up a machine whose network has gone without a word: with it goes what it holds."""
_UNPROVEN = (
    " It did not prove to be the machine of that name: docs/collect.md tells what that takes."
)


class Migration(NamedTuple):
    """One step that makes tables or views."""

    number: int
    name: str
    sql: LiteralString

    @property
    def digest(self) -> str:
        """SHA-256 of its text, in hexadecimal."""
        return sha256(self.sql.encode()).hexdigest()


def migrations() -> tuple[Migration, ...]:
    """Those that this legbook brings along, in order."""
    found = (file for file in files("voice.collect").joinpath("migrations").iterdir())
    return tuple(
        sorted(
            Migration(int(file.name[:4]), file.name, file.read_text("utf-8"))
            for file in found
            if file.name.endswith(".sql")
        )
    )


@contextmanager
def connected(address: Mapping[str, str]) -> Iterator[Connection]:
    """A connection that is closed in the end; everything that the database refuses is told.

    Raises:
        CollectError: where the database cannot be reached, does not know us, is not whom it says,
            refuses something, or where the connection breaks. Whatever was not done whole is undone.
    """
    try:
        connection = psycopg.connect(autocommit=True, **address)  # type: ignore[arg-type]
    except psycopg.OperationalError as error:
        why = _why(error)
        unproven = "certificate" in why or "SSL" in why
        raise CollectError(
            f"There is no connection to the database: {why}. Nothing was sent."
            f"{_UNPROVEN if unproven else ''}"
        ) from error
    try:
        with connection:
            connection.execute(_PATIENCE)
            connection.execute(
                "SELECT set_config('lock_timeout', %s, false)", [str(LOCK_PATIENCE_MS)]
            )
            yield connection
    except psycopg.errors.InsufficientPrivilege as error:
        raise CollectError(
            f"The database does not allow this ({_why(error)}). "
            "Ask whoever runs it for the rights that docs/collect.md names."
        ) from error
    except REFUSALS as error:
        raise refusal(error) from error
    except psycopg.OperationalError as error:
        raise CollectError(
            f"The connection broke: {_why(error)}. "
            "Nothing is there by half: call again, and it goes on where it stopped."
        ) from error
    except psycopg.Error as error:
        raise refusal(error) from error


REFUSALS = (psycopg.errors.LockNotAvailable, psycopg.DataError, psycopg.IntegrityError)
"""What the database has against one leg, and not against the next."""


def refusal(error: psycopg.Error) -> CollectError:
    """Why the database did not take something."""
    if isinstance(error, psycopg.errors.LockNotAvailable):
        return CollectError(
            "Another machine is sending this leg, or its connection broke a moment ago. "
            "Nothing is there by half: call again in a minute."
        )
    return CollectError(f"The database refuses this: {_why(error)}. Nothing is there by half.")


def _why(error: psycopg.Error) -> str:
    """The first line of what the database or its library said, without a point."""
    told = error.diag.message_primary or str(error)
    return next(iter(told.strip().splitlines()), "no reason told").rstrip(". ")


def prepare(connection: Connection) -> tuple[str, ...]:
    """Make what is missing, all of it or nothing; the names of the migrations that were run.

    Raises:
        CollectError: where the database was made by other files of the same numbers.
    """
    with connection.transaction():
        connection.execute("SELECT pg_advisory_xact_lock(%s)", [_LOCK])
        connection.execute(_BOOK)
        there = _made(connection)
        missing = [one for one in migrations() if one.number not in there]
        for one in migrations():
            if there.get(one.number, one.digest) != one.digest:
                raise CollectError(
                    f"The tables there were made by another {one.name} than this legbook has. "
                    "Nothing was changed: ask whoever set them up."
                )
        for one in missing:
            connection.execute(one.sql)
            connection.execute(
                "INSERT INTO legbook.migration (number, name, sha256) VALUES (%s, %s, %s)",
                [one.number, one.name, one.digest],
            )
    return tuple(one.name for one in missing)


def need_tables(connection: Connection) -> None:
    """Raise `CollectError` where the database lacks a table or view that this legbook needs.

    One that has more is well: a migration only adds.
    """
    there = connection.execute("SELECT to_regclass('legbook.migration')").fetchone()
    made = _made(connection) if there and there[0] else {}
    if any(one.number not in made for one in migrations()):
        raise CollectError(
            "The database has not the tables of this legbook. Whoever runs it calls, once: "
            "legbook collect prepare --to ADDRESS"
        )


def _made(connection: Connection) -> dict[int, str]:
    return dict(connection.execute("SELECT number, sha256 FROM legbook.migration").fetchall())
