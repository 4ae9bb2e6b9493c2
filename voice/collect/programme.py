"""What this machine and a programme's database have to do with each other: all that needs psycopg."""

from __future__ import annotations

import os
from contextlib import contextmanager
from typing import TYPE_CHECKING, NamedTuple

from voice.collect.address import address
from voice.collect.database import REFUSALS, connected, need_tables, prepare, refusal
from voice.collect.parcel import parcel
from voice.collect.report import report
from voice.collect.sending import send
from voice.entries.errors import LegbookError
from voice.record.shelf import load_with_chain, spare_folder

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from psycopg import Connection

    from voice.collect.report import Figure


class Told(NamedTuple):
    """What became of one leg."""

    sentence: str
    well: bool
    """Whether the database has it now."""


def send_legs(
    asked: str, folders: Iterable[Path], *, unchecked: bool, unsealed: bool
) -> Iterator[Told]:
    """Send the legs in ``folders`` to the database ``asked`` for; one that cannot go stops no other.

    For ``unchecked`` see `voice.collect.address`, for ``unsealed`` `voice.collect.parcel`.

    Raises:
        CollectError: where there is no such database, or the connection broke: what was told of
            before is there.
    """
    with _tables_of(asked, unchecked=unchecked) as connection:
        for folder in folders:
            try:
                leg, chain = load_with_chain(folder, spare_folder(folder))
                outcome = send(connection, parcel(leg, chain, unsealed=unsealed))
            except LegbookError as error:
                yield Told(f"Leg {folder.name}: {error}", well=False)
            except REFUSALS as error:
                yield Told(f"Leg {folder.name}: {refusal(error)}", well=False)
            else:
                yield Told(f"Leg {folder.name}: {outcome}.", well=True)


def report_of(asked: str, *, unchecked: bool) -> tuple[Figure, ...]:
    """The report across all legs in the database ``asked`` for. Raises as `send_legs`."""
    with _tables_of(asked, unchecked=unchecked) as connection:
        return report(connection)


def make_tables(asked: str, *, unchecked: bool) -> tuple[str, ...]:
    """Make what the database ``asked`` for lacks; the names of what was made. Raises as `send_legs`."""
    with connected(address(asked, os.environ, unchecked=unchecked)) as connection:
        return prepare(connection)


@contextmanager
def _tables_of(asked: str, *, unchecked: bool) -> Iterator[Connection]:
    with connected(address(asked, os.environ, unchecked=unchecked)) as connection:
        need_tables(connection)
        yield connection
