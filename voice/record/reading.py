"""A leg's files back to its events, with every sign of change or loss."""

from __future__ import annotations

import re
import sqlite3
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from pydantic import ValidationError

from voice.record import part
from voice.record.chain import START, Head, Row, link
from voice.record.errors import EventRefusedError, cause
from voice.record.events import Event, LegStarted, Sealed, from_text
from voice.record.headfile import HeadFile
from voice.record.replay import Replay

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

_PART_NAME = re.compile(r"journal(?:-([2-9]|[1-9][0-9]+))?\.sqlite")


def part_name(number: int) -> str:
    """Name of a leg's journal file, counted from 1."""
    return "journal.sqlite" if number == 1 else f"journal-{number}.sqlite"


def parts(folders: Iterable[Path]) -> dict[int, Path]:
    """The leg's journal files by number, in order."""
    found = {}
    for folder in folders:
        for path in folder.glob("journal*.sqlite"):
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
    """The events that are as they were written and fit what came before them."""
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

    @property
    def head(self) -> Head:
        """Where the chain stands."""
        return Head(self.rows[-1].number, self.rows[-1].hash) if self.rows else START


def read_chain(folders: Iterable[Path]) -> Chain:
    """Read and check a leg's journal; damage of any kind ends up among the findings.

    ``folders`` are the leg's own and, where there is one, its spare. A leg that is being written
    may be read: the head files are read before and after, for they may grow meanwhile.
    """
    folders = list(folders)
    chain = Chain()
    noted_before = _noted(folders)
    given_up = _read_parts(chain, folders)
    noted_after = _noted(folders)
    _check_links(chain)
    _check_name(chain, folders[0].name)
    _check_heads(chain, noted_before - given_up, noted_after - given_up)
    _check_spare(chain, folders)
    chain.begun = bool(chain.rows or noted_before)
    if not chain.begun:
        chain.findings.append("Nothing was written.")
    return chain


def _noted(folders: list[Path]) -> set[Head]:
    return {head for folder in folders for head in HeadFile(folder).heads()}


def _read_parts(chain: Chain, folders: list[Path]) -> set[Head]:
    """Join the parts; give the heads of rows that a failed part left and its successor replaced."""
    given_up = set()
    for path in parts(folders).values():
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
            given_up.add(Head(row.number, row.hash))
            chain.notes.append(f"Event {row.number} was written again after a failure.")
        chain.rows += rows
    return given_up


def _check_links(chain: Chain) -> None:
    before = START
    for row in chain.rows:
        name = f"Event {row.number}"
        if row.number != before.number + 1:
            chain.findings.append(_gap(before.number, row.number))
        elif row.previous != before.hash:
            chain.findings.append(f"{name} does not follow on the one before it.")
        before = Head(row.number, row.hash)
        if link(row.previous, row.text) != row.hash:
            chain.findings.append(f"{name} was changed.")
            continue
        if row.number > 1 and not chain.events:
            continue  # without the first event there is no leg to which this one could belong
        try:
            event = from_text(row.text)
            chain.replay.add(event)
        except ValidationError:
            chain.findings.append(f"{name} cannot be understood by this version of legbook.")
        except EventRefusedError as error:
            chain.findings.append(f"{name} does not fit: {error}")
        else:
            chain.events.append(event)
            if isinstance(event, Sealed) and event.head != row.previous:
                chain.findings.append("The seal names another head.")


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


def _check_heads(chain: Chain, before: set[Head], after: set[Head]) -> None:
    """``before`` and ``after``: the heads noted before and after the rows were read."""
    last = chain.head.number
    noted_last = max((head.number for head in before), default=0)
    if noted_last > last:
        chain.findings.append(
            f"The end was cut off: the journal ends with event {last}, but {noted_last} were kept."
        )
    heads = {Head(row.number, row.hash) for row in chain.rows}
    if others := sorted(head.number for head in before - heads if head.number <= last):
        chain.findings.append(f"Event {others[0]} is not the one that was noted in the head file.")
    numbers = {head.number for head in after}
    if unnoted := [row.number for row in chain.rows[:-1] if row.number not in numbers]:
        chain.findings.append(f"The head file does not know event {unnoted[0]}.")
    chain.head_is_behind = bool(chain.rows) and last not in numbers
    if chain.head_is_behind:
        chain.notes.append(
            "The head file is one event behind: the program stopped between two writes. "
            "Nothing is lost."
        )


def _check_spare(chain: Chain, folders: list[Path]) -> None:
    newest = list(parts(folders).values())[-1:]
    for folder in folders:
        if HeadFile(folder).goes_on_elsewhere() and [p.parent for p in newest] == [folder]:
            chain.findings.append(
                "The journal went on in a spare folder that is not here: bring that disk back."
            )
