"""How long a long journal takes to open, and to verify but for its sound: ``python -m tests.record.long_journal``."""

from __future__ import annotations

import argparse
import sqlite3
import sys
import tempfile
import time
from contextlib import closing
from itertools import count, islice
from pathlib import Path
from typing import TYPE_CHECKING

from tests.record.conftest import START, at, heard, kept
from voice.entries.leg import LegSettings
from voice.record.chain import Head, next_row
from voice.record.events import Clip, Confirmed, to_text
from voice.record.journal import Journal
from voice.record.shelf import verify

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from voice.record.events import Event


def events() -> Iterator[Event]:
    """An endless leg: each pressure is heard, kept, and its "confirm" heard and kept as well."""
    for number in count(1):
        minute = number / 60
        yield heard(Clip(name=f"{2 * number:04}.flac", sha256="c" * 64))
        yield kept(number, 10 + number % 20, minute=minute)
        yield heard(Clip(name=f"{2 * number + 1:04}.flac", sha256="c" * 64))
        yield Confirmed(at=at(minute), number=number)


def write(folder: Path, length: int) -> None:
    """Write a leg of so many events."""
    with Journal.create(folder, LegSettings(), START, grammar_digest="", model_digest=""):
        pass
    append(folder, islice(events(), length - 1))


def append(folder: Path, events: Iterable[Event]) -> None:
    """Add events to a leg, all in one transaction: that is quick, and reads the same."""
    with Journal.open(folder, START) as journal:
        head = journal.head
    database, heads = (
        closing(sqlite3.connect(folder / "journal.sqlite")),
        (folder / "head").open("a"),
    )
    with database as db, db, heads:
        for event in events:
            row = next_row(head, to_text(event))
            db.execute("INSERT INTO event VALUES (?, ?, ?, ?)", row)
            head = Head(row.number, row.hash)
            heads.write(f"\n{head.number} {head.hash}")


def opened(folder: Path) -> None:
    """As a start of the program does: every hash is checked meanwhile."""
    Journal.open(folder, at(0)).close()


def taken_s(work: Callable[[Path], object], folder: Path) -> tuple[float, float]:
    """Processor time of the work, and how long it was waited for: on a busy machine these differ."""
    worked_s, began_s = time.process_time(), time.perf_counter()
    work(folder)
    return time.process_time() - worked_s, time.perf_counter() - began_s


def main() -> None:
    """Write, open and verify it, and tell how long that took."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--events", type=int, default=100_000)
    parser.add_argument("--times", type=int, default=5)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary) / "leg"
        write(folder, asked.events)
        for name, work in (("open", opened), ("verify", verify)):
            worked_s, waited_s = min(taken_s(work, folder) for _ in range(asked.times))
            sys.stdout.write(
                f"{asked.events} events, {name}: {worked_s:.2f} s of processor time at best, "
                f"waited for {waited_s:.2f} s\n"
            )


if __name__ == "__main__":
    main()
