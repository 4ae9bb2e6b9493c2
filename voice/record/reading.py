"""A leg's files back to its events, with every sign of change or loss."""

from __future__ import annotations

import gc
import re
import sqlite3
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from pydantic import ValidationError

from voice.record import part
from voice.record.chain import START, Head, Row, link
from voice.record.durable import listed
from voice.record.errors import EventRefusedError, cause
from voice.record.events import Event, LegStarted, Sealed, from_text
from voice.record.headfile import HeadFile, noted, noted_head
from voice.record.in_short import HeardInShort, from_text_in_short
from voice.record.replay import Replay
from voice.record.signing import holds

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from datetime import datetime
    from pathlib import Path

_PART_NAME = re.compile(r"journal(?:-([2-9]|[1-9][0-9]+))?\.sqlite")


def part_name(number: int) -> str:
    """Name of a leg's journal file, counted from 1."""
    return "journal.sqlite" if number == 1 else f"journal-{number}.sqlite"


def parts(folders: Iterable[Path]) -> dict[int, Path]:
    """The leg's journal files by number, in order."""
    found = {}
    for folder in folders:
        for path in listed(folder, "journal*.sqlite"):
            if named := _PART_NAME.fullmatch(path.name):
                found[int(named[1] or 1)] = path
    return dict(sorted(found.items()))


def leg_folders(folder: Path, spare: Path | None) -> list[Path]:
    """The leg's own folder and, where there is one, the folder in which it may go on."""
    return [folder] if spare is None else [folder, spare]


@dataclass
class Chain:
    """What a leg's files hold."""

    rows: list[Row] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    """The events that are as they were written and fit what came before them, but for those read
    in short."""
    last_at: datetime | None = None
    """When the last of them was written, those in short as well."""
    replay: Replay = field(default_factory=Replay)
    """The replay of `events`."""
    findings: list[str] = field(default_factory=list)
    """Signs that something was changed, removed or lost, each a whole sentence."""
    notes: list[str] = field(default_factory=list)
    """Traces of a crash or a failed disk, by which nothing was lost."""
    head_is_behind: bool = False
    """Whether the last row is not in a head file yet."""
    begun: bool = False
    """Whether anything was ever written; not so where the program stopped while starting a leg."""
    last_part: Path | None = None
    """The newest journal file, if it holds a row."""
    last_part_number: int = 0
    """That of the newest journal file, whatever it holds."""

    @property
    def head(self) -> Head:
        """Where the chain stands."""
        return Head(self.rows[-1].number, self.rows[-1].hash) if self.rows else START


@contextmanager
def uncollected() -> Iterator[None]:
    """Half of the time to read a long journal is the garbage collector's, which finds nothing."""
    collected = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collected:
            gc.enable()


@uncollected()
def read_chain(folders: Iterable[Path], *, in_short: bool = False) -> Chain:
    """Read and check a leg's journal; damage of any kind ends up among the findings.

    ``folders`` are the leg's own and, where there is one, its spare. A leg that is being written
    may be read: the head files are read before and after, for they may grow meanwhile. ``in_short``:
    every hash is checked, but what was heard is only counted; the leg needs no more.
    """
    folders = list(folders)
    chain = Chain()
    noted_before = _noted(folders)
    given_up = _read_parts(chain, folders)
    noted_after = _noted(folders)
    _check_links(chain, from_text_in_short if in_short else from_text)
    _check_name(chain, folders[0].name)
    known = _check_heads(chain, noted_before - given_up, noted_after - given_up)
    _check_spare(chain, folders)
    went_on = any(HeadFile(folder).goes_on_elsewhere() for folder in folders)
    chain.begun = bool(chain.rows or known or went_on)
    if not chain.begun:
        chain.findings.append("Nothing was written.")
    return chain


def _noted(folders: list[Path]) -> set[str]:
    """The lines of the head files. As lines they are compared: a long journal has as many as rows."""
    return {line for folder in folders for line in HeadFile(folder).lines()}


def _read_parts(chain: Chain, folders: list[Path]) -> set[str]:
    """Join the parts; give the lines of rows that a failed part left and its successor replaced."""
    given_up = set()
    for number, path in parts(folders).items():
        chain.last_part_number = number
        try:
            rows, faults = part.read(path)
        except sqlite3.Error as error:
            chain.findings.append(f"{path.name} cannot be read: {cause(error)}.")
            continue
        chain.findings += [f"{path.name}: {fault}" for fault in faults]
        chain.last_part = path if rows else None
        if rows and chain.rows and rows[0].number == chain.rows[-1].number:
            # Its writing failed, so it was never acknowledged, and was written again here.
            row = chain.rows.pop()
            given_up |= {noted(row)} - {noted(rows[0])}
            chain.notes.append(f"Event {row.number} was written again after a failure.")
        chain.rows += rows
    return given_up


def _check_links(chain: Chain, understand: Callable[[str], Event | HeardInShort]) -> None:
    number, digest = START
    for row in chain.rows:
        if row.number != number + 1:
            chain.findings.append(_gap(number, row.number))
        elif row.previous != digest:
            chain.findings.append(f"Event {row.number} does not follow on the one before it.")
        number, digest = row.number, row.hash
        if link(row.previous, row.text) != digest:
            chain.findings.append(f"Event {number} was changed.")
            continue
        # without the first event there is no leg to which a later one could belong
        if number == 1 or chain.last_at is not None:
            _take(chain, row, understand)


def _take(chain: Chain, row: Row, understand: Callable[[str], Event | HeardInShort]) -> None:
    try:
        event = understand(row.text)
        chain.replay.add(event)
    except ValidationError:
        chain.findings.append(
            f"Event {row.number} cannot be understood by this version of legbook."
        )
    except EventRefusedError as error:
        chain.findings.append(f"Event {row.number} does not fit: {error}")
    else:
        chain.last_at = event.at
        if not isinstance(event, HeardInShort):
            chain.events.append(event)
        if type(event) is Sealed:
            chain.findings += _faults_of_seal(chain, row, event)


def _faults_of_seal(chain: Chain, row: Row, sealed: Sealed) -> Iterator[str]:
    if sealed.head != row.previous:
        yield "The seal names another head."
    leg_id, signature = chain.replay.leg().id, sealed.signature
    closes = Head(row.number - 1, sealed.head)
    if signature is not None and not holds(signature, leg_id, closes, sealed.at):
        yield (
            f"The signature of {signature.by} does not hold: "
            "the leg, or the signature, was changed after it was sealed."
        )


def _check_name(chain: Chain, name: str) -> None:
    for event in chain.events[:1]:
        if isinstance(event, LegStarted) and event.leg_id != name:
            chain.findings.append(f"It is the journal of leg {event.leg_id}, under another name.")


def _gap(before: int, after: int) -> str:
    if after <= before:
        return f"Event {after} comes after event {before}."
    if after == before + 2:
        return f"Event {before + 1} is missing."
    return f"Events {before + 1} to {after - 1} are missing."


def _check_heads(chain: Chain, before: set[str], after: set[str]) -> bool:
    """``before`` and ``after``: what was noted before and after the rows were read.

    Tells whether any head was noted before.
    """
    last = chain.head.number
    by_rows = set(map(noted, chain.rows))
    strange = _heads(before - by_rows)
    noted_last = max((head.number for head in strange), default=0)
    if noted_last > last:
        chain.findings.append(
            f"The end was cut off: the journal ends with event {last}, but {noted_last} were kept."
        )
    if others := [head.number for head in strange if head.number <= last]:
        chain.findings.append(
            f"Event {min(others)} is not the one that was noted in the head file."
        )
    unnoted = {head.number for head in _heads(by_rows - after)}
    unnoted -= {head.number for head in _heads(after - by_rows)}
    missing = unnoted - {last}
    if missing and not _heads(after):
        chain.findings.append(
            "The head file, with its copy of every hash, is missing or empty: whether all was changed "
            "or the end cut off, only a code from a summary or a page tells."
        )
    elif missing:
        chain.findings.append(f"The head file does not know event {min(missing)}.")
    chain.head_is_behind = last in unnoted and not missing
    if chain.head_is_behind:
        chain.notes.append(
            "The head file is one event behind: the program stopped between two writes. "
            "Nothing is lost."
        )
    return bool(strange or before & by_rows)


def _heads(lines: Iterable[str]) -> list[Head]:
    return [head for line in lines if (head := noted_head(line)) is not None]


def _check_spare(chain: Chain, folders: list[Path]) -> None:
    if spare_is_missing(folders):
        chain.findings.append(
            "The journal went on in a spare folder that is not here: bring that disk back."
        )


def spare_is_missing(folders: Iterable[Path]) -> bool:
    """Whether a leg's journal went on in a folder that is not among these, or not there."""
    folders = list(folders)
    newest = [path.parent for path in list(parts(folders).values())[-1:]]
    return any(
        HeadFile(folder).goes_on_elsewhere() and newest in ([], [folder]) for folder in folders
    )
