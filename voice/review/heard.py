"""What was heard on a leg, sorted by what became of it: sound of an entry, or of nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.said import ConfirmAnd, Correction, Several, Statement
from voice.meaning.decide import is_unknown
from voice.meaning.decision import Accept, AskBetween, Doubt, NotForUs, NotUnderstood
from voice.record.desk_events import DeskEntry
from voice.record.event_base import PutDown
from voice.record.events import Heard, Together

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import datetime

    from voice.record.events import Event, ScoredText

ENTRIES = Statement | Several | Correction | ConfirmAnd
"""Meanings of which an entry comes."""


class Sounds:
    """Every stretch of speech of a leg, found by when it began; growing event by event."""

    def __init__(self) -> None:
        self.heard: dict[datetime, tuple[int, Heard]] = {}
        """By its beginning: the number of the event, and the event."""
        self._spoken: set[datetime] = set()
        self.added: dict[str, list[int]] = {}
        """By clip: the entries that were added from it at the desk."""

    def take(self, number: int, event: Event) -> None:
        """Take the event of this number."""
        if isinstance(event, Heard):
            self.heard[event.start_at] = (number, event)
        for part in event.parts if isinstance(event, Together) else (event,):
            if isinstance(part, PutDown):
                self._spoken.add(part.spoken_at)
            if isinstance(part, DeskEntry) and part.clip is not None and part.replaces is None:
                self.added.setdefault(part.clip, []).append(part.number)

    def of(self, spoken_at: datetime) -> Heard | None:
        """What was heard when an entry was said; ``None`` for one that was not said on the leg."""
        found = self.heard.get(spoken_at)
        return None if found is None else found[1]

    def gaps(self) -> Iterator[tuple[int, Heard]]:
        """Speech of which no entry came, though one could have: what was taken for other talk too.

        What was added from it at the desk does not take it away: it was a gap on the leg.
        """
        for number, event in self.heard.values():
            added = event.clip is not None and event.clip.name in self.added
            if added or (event.start_at not in self._spoken and _could_be_entry(event)):
                yield number, event

    def clips(self) -> dict[str, str]:
        """Every clip that the journal names, with its hash."""
        clips = (event.clip for _, event in self.heard.values())
        return {clip.name: clip.sha256 for clip in clips if clip is not None}


def _could_be_entry(event: Heard) -> bool:
    """A word of the talk that was understood is none."""
    decision = event.decision
    return not isinstance(decision, Accept) or isinstance(decision.heard.meaning, ENTRIES)


def why(event: Heard) -> str:
    """Why nothing came of it, in words."""
    match event.decision:
        case NotForUs():
            return "taken for other talk"
        case NotUnderstood(doubt=doubt):
            return f"not understood: {doubt}"
        case AskBetween():
            return "two readings were asked about, and neither was chosen"
    return "understood, and nothing was kept"


def was_for_us(event: Heard) -> bool:
    """Whether an entry may be missing."""
    match event.decision:
        case NotForUs() | NotUnderstood(doubt=Doubt.TOO_SOON):
            return False
    return True


def phrases(alternatives: Iterable[ScoredText]) -> list[ScoredText]:
    """Those that are words of the grammar in whole."""
    return [one for one in alternatives if not is_unknown(one)]
