"""What was misheard on legs, as reviewers found it: a list for the trainer.

It holds phrases and how often each was misheard as what; no leg, time, name or sound. A leg is left
out unless the sign-off that stands allows it, and what tells of the person (`PERSONAL`) is left out
always. The numbers in a phrase stay: fifteen for fifty is what the trainer looks for, and a value
without a leg is nobody's.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from pydantic import Field, ValidationError

from voice.entries.errors import LegbookError
from voice.entries.frozen import Frozen
from voice.meaning.decide import Likeliest
from voice.record.desk_events import MISHEARD, MISSED, DeskEntry
from voice.record.errors import cause
from voice.record.events import Heard
from voice.record.replay import replay

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from pathlib import Path

    from voice.entries.leg import Leg, LegEntry
    from voice.record.events import Event

PERSONAL = frozenset({"weight", "diagnosis"})
"""Kinds of entry that tell of the person rather than of the course."""


class MisheardError(LegbookError):
    """A reviewer's list cannot be read or written."""


class Misheard(Frozen):
    """One line of the list: what was meant, and what was heard instead."""

    phrase: str
    heard: tuple[str, ...] = ()
    """The commonest first; empty where nothing was made out."""
    count: int = Field(default=1, ge=1)


class Gathered(NamedTuple):
    """The list, and from how many legs it comes."""

    listed: tuple[Misheard, ...]
    legs: int


def gather(journals: Iterable[Sequence[Event]]) -> Gathered:
    """What was misheard on the legs of these journals, the commonest first."""
    found: dict[str, Counter[str]] = {}
    legs = 0
    for events in journals:
        leg = replay(events)
        if leg.signed is None or not leg.signed.may_teach:
            continue
        legs += 1
        for phrase, heard in confusions(events, leg):
            found.setdefault(phrase, Counter())[heard] += 1
    listed = (
        Misheard(
            phrase=phrase,
            heard=tuple(text for text, _ in sorted(heard.items(), key=_commonest) if text),
            count=heard.total(),
        )
        for phrase, heard in found.items()
    )
    # by the alphabet, so that the order tells nothing of a leg
    return Gathered(tuple(sorted(listed, key=lambda one: (-one.count, one.phrase))), legs)


def _commonest(heard: tuple[str, int]) -> tuple[int, str]:
    text, count = heard
    return -count, text


def confusions(events: Iterable[Event], leg: Leg) -> Iterator[tuple[str, str]]:
    """Each phrase that was meant on a leg, with what was heard; empty where that was nothing."""
    entries = {entry.number: entry for entry in leg.entries}
    sounds: dict[str, Heard] = {}
    for event in events:
        if isinstance(event, Heard) and event.clip is not None:
            sounds[event.clip.name] = event
        if not isinstance(event, DeskEntry) or event.entry.kind in PERSONAL:
            continue
        if not entries[event.number].counts:
            continue  # a reviewer's own mistake
        if event.replaces is not None and event.why == MISHEARD:
            heard = _first_record(entries, event.replaces).heard
            if heard != event.heard:
                yield event.heard, heard
        elif event.clip in sounds and event.why == MISSED:
            best = Likeliest.of(sounds[event.clip].alternatives).phrase
            yield event.heard, "" if best is None else best.text


def _first_record(entries: Mapping[int, LegEntry], number: int) -> LegEntry:
    entry = entries[number]
    while entry.replaces is not None:
        entry = entries[entry.replaces]
    return entry


def read_misheard(file: Path) -> tuple[Misheard, ...]:
    """A list that was written, a JSON object on each line; the commonest first.

    Raises ``MisheardError``, naming the line.
    """
    found = []
    try:
        lines = file.read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise MisheardError(f"The list {file} cannot be read: {error}. Copy it again.") from error
    for number, line in enumerate(lines, start=1):
        if line.strip():
            try:
                found.append(Misheard.model_validate_json(line))
            except ValidationError as error:
                raise MisheardError(
                    f"{file.name}, line {number}, is no misheard phrase "
                    f"({error.errors()[0]['msg']}). Export the list again."
                ) from error
    return tuple(sorted(found, key=lambda one: -one.count))


def write_misheard(listed: Iterable[Misheard], file: Path) -> None:
    """Write a list as `read_misheard` takes it; raises ``MisheardError`` where it cannot."""
    try:
        file.write_text("".join(f"{one.model_dump_json()}\n" for one in listed), "utf-8")
    except OSError as error:
        raise MisheardError(f"The list {file} cannot be written: {cause(error)}.") from error
