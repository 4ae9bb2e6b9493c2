"""Legs that are sent over a wire which is cut: ``python -m tests.collect.cuts --times 500 --seed 1``."""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from contextlib import suppress
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, get_args

from tests.collect.certificates import certified
from tests.collect.flown import busy, quiet
from tests.collect.server import EMPTY, NAME, Server, running
from tests.collect.wire import Side, wire
from voice.collect.address import address
from voice.collect.database import connected, prepare
from voice.collect.errors import CollectError
from voice.collect.parcel import Parcel, parcel
from voice.collect.sending import Outcome, send
from voice.record.shelf import load_with_chain

if TYPE_CHECKING:
    import psycopg

TABLES = ("received", "entry", "clamp_period", "state_spell", "reminder_turn", "confusion")
Held = dict[str, list[tuple[object, ...]]]


def packed(folder: Path) -> Parcel:
    """What would be sent of the leg in a folder."""
    return parcel(*load_with_chain(folder), unsealed=True)


def held(server: Server, database: str) -> Held:
    """All that the tables of a database hold, without the numbers that it gives itself."""
    with server.connect(database) as owner:
        return {
            table: [
                row[1:] for row in owner.execute(f"SELECT * FROM legbook.{table} ORDER BY 1, 2, 3")
            ]
            for table in TABLES
        }


class Cutting:
    """Legs that are sent again and again into an emptied database."""

    def __init__(self, server: Server, database: str, parcels: list[Parcel], side: Side) -> None:
        self._server = server
        self._database = database
        self._parcels = parcels
        self._side = side
        self._codes = [one.code for one in parcels]
        self._empty()
        self.length, told = self._send(None)
        """How many bytes go over that side when nothing is cut."""
        assert told == [Outcome.SENT] * len(parcels)
        self._whole = held(server, database)

    def cut(self, after: int) -> int:
        """Cut after so many bytes, and send again; how many legs were there in between.

        Fails where a leg is there by half or one that was told of as sent is not, and where the next try
        does not bring what was missing, and that alone.
        """
        self._empty()
        _, told = self._send(after)
        with self._server.connect(self._database) as owner:
            _until_rolled_back(owner)
            there = {code for (code,) in owner.execute("SELECT leg FROM legbook.received")}
        # the answer to the last may have been lost on its way
        assert set(self._codes[: len(told)]) <= there
        _, again = self._send(None)
        assert [one is Outcome.SAME for one in again] == [code in there for code in self._codes]
        assert held(self._server, self._database) == self._whole
        return len(there)

    def _send(self, cut_after: int | None) -> tuple[int, list[Outcome]]:
        """Send over a new wire; how many bytes passed, and what was told."""
        told: list[Outcome] = []
        with wire(self._server.port, cut_after, self._side) as laid:
            # without TLS, so that the same is sent byte for byte each time
            asked = f"{self._server.address(self._database, port=laid.port)} sslmode=disable"
            with suppress(CollectError), connected(address(asked, {})) as connection:
                for one in self._parcels:
                    told.append(send(connection, one))  # noqa: PERF401 - the next one may break
        return laid.passed[self._side], told

    def _empty(self) -> None:
        with self._server.connect(self._database) as owner:
            owner.execute(EMPTY)


def _until_rolled_back(owner: psycopg.Connection) -> None:
    """Wait for the server to have seen that the other end is gone."""
    for _ in range(500):
        found = owner.execute(
            "SELECT count(*) FROM pg_stat_activity WHERE application_name = 'legbook'"
        ).fetchone()
        if found == (0,):
            return
        owner.execute("SELECT pg_sleep(0.01)")
    raise AssertionError("the server keeps a connection that is gone")


def main() -> None:
    """Cut at random places, and tell how many legs were there after the cuts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    with (
        tempfile.TemporaryDirectory() as temporary,
        running(certified(NAME, "Authority of the tests")) as server,
    ):
        home = Path(temporary)
        parcels = [packed(busy(home)), packed(quiet(home)), packed(busy(home, "2031-05-03-1205"))]
        with connected(address(server.address(), {})) as connection:
            prepare(connection)
        for side in get_args(Side):
            cutting = Cutting(server, "postgres", parcels, side)
            chance = Random(f"{asked.seed} {side}")
            found = Counter(
                cutting.cut(chance.randrange(1, cutting.length)) for _ in range(asked.times)
            )
            told = ", ".join(f"{legs} legs {times} times" for legs, times in sorted(found.items()))
            sys.stdout.write(
                f"{side}: cut {asked.times} times in {cutting.length} bytes; whole then: {told}\n"
            )


if __name__ == "__main__":
    main()
