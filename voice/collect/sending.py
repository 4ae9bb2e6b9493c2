"""One leg into the database: whole or not at all, and never twice.

A leg is one transaction, so nobody sees half of one, and a connection that breaks leaves nothing. What
was sent stands for good: a leg that went on since is sent again whole, and stands beside its earlier
state. So whoever sends needs no right to change or remove anything.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Any

from psycopg import sql

from voice.collect.errors import CollectError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from psycopg import Connection

    from voice.collect.parcel import Parcel


class Outcome(StrEnum):
    """What became of a leg that was to be sent."""

    SENT = "sent"
    ADDED = "it went on since it was last sent: sent again"
    SAME = "is there already"
    OLDER = "the database has a later state of it: nothing to send"


def send(connection: Connection, parcel: Parcel) -> Outcome:
    """Send a leg, unless all of it is there already.

    Two machines that send the same leg at once wait for each other. Raises what psycopg raises, with
    nothing done.

    Raises:
        CollectError: where the database has the leg with another history.
    """
    with connection.transaction():
        connection.execute("SELECT pg_advisory_xact_lock(hashtextextended(%s, 0))", [parcel.code])
        known = connection.execute(
            "SELECT events, mark FROM legbook.received WHERE leg = %s ORDER BY events",
            [parcel.code],
        ).fetchall()
        outcome = _compared(known, parcel.marks)
        if outcome in {Outcome.SENT, Outcome.ADDED}:
            _write(connection, parcel)
    return outcome


def _compared(known: Sequence[tuple[int, str]], marks: Sequence[str]) -> Outcome:
    """What is to be done about a leg of which ``known`` is there, in rising order."""
    if not known:
        return Outcome.SENT
    for events, mark in known:
        if events <= len(marks) and marks[events - 1] != mark:
            raise CollectError(
                f"The database has this leg with another history: what it holds up to event {events} "
                "is not what this machine has. Nothing was sent. One of the two was changed, or the "
                "leg was gone on with on two machines: have both looked at (legbook verify)."
            )
    last = known[-1][0]
    if last == len(marks):
        return Outcome.SAME
    return Outcome.ADDED if last < len(marks) else Outcome.OLDER


def _write(connection: Connection, parcel: Parcel) -> None:
    about = {
        "leg": parcel.code,
        "events": len(parcel.marks),
        "mark": parcel.marks[-1],
        **parcel.about,
    }
    found = connection.execute(
        sql.SQL("INSERT INTO legbook.received ({}) VALUES ({}) RETURNING id").format(
            _names(about), sql.SQL(", ").join(map(sql.Placeholder, about))
        ),
        about,
    ).fetchone()
    assert found is not None
    for table, rows in parcel.tables.items():
        _copy(connection, table, rows, found[0])


def _copy(
    connection: Connection, table: str, rows: Sequence[Mapping[str, Any]], received: int
) -> None:
    if not rows:
        return
    names = ["received", *rows[0]]
    command = sql.SQL("COPY legbook.{} ({}) FROM STDIN").format(
        sql.Identifier(table), _names(names)
    )
    with connection.cursor() as cursor, cursor.copy(command) as copy:
        for row in rows:
            copy.write_row([received, *row.values()])


def _names(of: Mapping[str, object] | Sequence[str]) -> sql.Composed:
    return sql.SQL(", ").join(map(sql.Identifier, of))
