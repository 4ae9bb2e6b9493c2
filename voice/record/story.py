"""A leg together with what became of each of its entries, up to one event of its journal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from voice.entries.history import EntryTurn
from voice.record.chain import Head
from voice.record.desk_events import DeskApproved, DeskWithdrawn
from voice.record.errors import JournalError
from voice.record.event_base import PutDown
from voice.record.events import Confirmed, Together, Withdrawn
from voice.record.reading import leg_folders, parts, read_chain
from voice.record.replay import Replay
from voice.record.shelf import load_with_chain

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import datetime
    from pathlib import Path

    from voice.entries.leg import Leg
    from voice.entries.seal import Seal
    from voice.record.events import Event
    from voice.record.in_short import HeardInShort


@dataclass(frozen=True)
class Story:
    """A leg as it stood after one event."""

    leg: Leg
    turns: tuple[EntryTurn, ...]
    """In the order in which it happened."""
    head: Head
    """Where the chain stood: the seal that `verify` shows."""
    as_of: datetime
    """When that event was written."""
    seal: Seal | None
    """How it was closed by then."""


def story(folder: Path, spare: Path | None = None) -> Story:
    """The leg in ``folder`` as it stands; of a damaged one what `shelf.load` gives.

    Raises:
        JournalError: where there is no leg in the folder, or nothing can be read of it.
    """
    leg, chain = load_with_chain(folder, spare)
    events = chain.events
    return Story(leg, turns(events), chain.head, events[-1].at, chain.replay.seal)


def story_until(folder: Path, seals: Iterable[str], spare: Path | None = None) -> Story | None:
    """The leg in ``folder`` as it stood when its journal ended with one of ``seals``.

    ``None`` where none of them was ever the seal of this leg.

    Raises:
        JournalError: where there is no leg in the folder, or it is not as it was written.
    """
    folders = leg_folders(folder, spare)
    if not parts(folders):
        raise JournalError(f"There is no leg in {folder}.")
    chain = read_chain(folders)
    if chain.findings:
        raise JournalError(
            f"Leg {folder.name} is not as it was written, so it proves nothing: {chain.findings[0]}"
        )
    wanted = set(seals)
    for row in reversed(chain.rows):
        if row.hash in wanted:
            events = chain.events[: row.number]
            then = Replay.of(events)
            head = Head(row.number, row.hash)
            return Story(then.leg(), turns(events), head, events[-1].at, then.seal)
    return None


def turns(events: Iterable[Event | HeardInShort]) -> tuple[EntryTurn, ...]:
    """What became of each entry, in the order in which it happened."""
    found: list[EntryTurn] = []
    replaces: dict[int, int | None] = {}
    for event in events:
        for part in event.parts if isinstance(event, Together) else (event,):
            found += _turns(part, replaces)
    return tuple(found)


def _turns(event: Event | HeardInShort, replaces: dict[int, int | None]) -> Iterator[EntryTurn]:
    """What became of entries by one event; ``replaces`` is noted for those that follow."""
    by = getattr(event, "by", None)
    why = getattr(event, "why", None)
    match event:
        case PutDown(number=number, replaces=replaced):
            replaces[number] = replaced
            yield EntryTurn(number=number, became="kept", at=event.at, by=by, why=why)
            if replaced is not None:
                yield EntryTurn(
                    number=replaced, became="corrected", at=event.at, by=by, why=why, other=number
                )
        case Confirmed(number=number):
            yield EntryTurn(number=number, became="confirmed", at=event.at)
        case DeskApproved(number=number):
            yield EntryTurn(number=number, became="approved", at=event.at, by=by, why=why)
        case Withdrawn(number=number) | DeskWithdrawn(number=number):
            yield EntryTurn(number=number, became="withdrawn", at=event.at, by=by, why=why)
            if replaced := replaces.get(number):
                yield EntryTurn(
                    number=replaced, became="restored", at=event.at, by=by, why=why, other=number
                )
        case _:
            pass
