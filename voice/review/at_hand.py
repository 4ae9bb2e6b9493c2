"""A leg's journal as it is read at the desk, and read on when others write to it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.errors import LegbookError
from voice.record.desk_events import DeskEvent, ListenedTo
from voice.record.errors import JournalError
from voice.record.events import SoundDropped
from voice.record.headfile import NAME
from voice.record.reading import leg_folders, parts, read_chain
from voice.record.replay import replay
from voice.review.heard import Sounds

if TYPE_CHECKING:
    from pathlib import Path

    from voice.entries.leg import Leg, LegEntry
    from voice.record.events import Event


class LegAtHand:
    """All events of a leg, and what they come to."""

    def __init__(self, folder: Path, spare: Path | None = None) -> None:
        """Raises ``JournalError`` where there is no leg in the folder, or nothing can be read of it."""
        self.folders = leg_folders(folder, spare)
        self._read()

    def _read(self) -> None:
        if not parts(self.folders):
            raise JournalError(f"There is no leg in {self.folders[0]}.")
        self._seen = self._sizes()
        chain = read_chain(self.folders)
        self._replay = chain.replay
        self.damage = tuple(chain.findings)
        """What is wrong with the journal, in whole sentences."""
        self.head = chain.head.number
        """Number of the last event."""
        self.events: list[Event] = []
        """By their number, from 1, where nothing is damaged."""
        self.sounds = Sounds()
        self.listened: set[str] = set()
        """The clips that were played at the desk."""
        self.dropped: dict[str, str] = {}
        """The clips that had to go, each with the programme's policy in a sentence."""
        for event in chain.events:
            self._note(event)
        if not self.events:
            raise JournalError(f"Nothing can be read of this leg: {self.damage[0]}")
        self.leg = self._replay.leg()

    def refresh(self) -> None:
        """Read anew, where somebody else has written."""
        if self._sizes() != self._seen:
            self._read()

    def take(self, event: Event) -> None:
        """Take an event that was just written here."""
        self._replay.add(event)
        self._note(event)
        self._seen = self._sizes()
        self.head += 1
        self.leg = self._replay.leg()

    def entry(self, number: int) -> LegEntry:
        """An entry; raises ``LegbookError`` where there is none of this number."""
        for entry in self.leg.entries:
            if entry.number == number:
                return entry
        raise LegbookError(f"There is no entry {number}.")

    @property
    def sealed(self) -> bool:
        """Whether nothing can be added any more."""
        return self._replay.sealed

    @property
    def next_number(self) -> int:
        """The number of the next entry."""
        return self._replay.next_number

    def flown(self) -> Leg:
        """The leg as it was before the first act of the desk."""
        acts = (at for at, event in enumerate(self.events) if isinstance(event, DeskEvent))
        return replay(self.events[: next(acts, None)])

    def _note(self, event: Event) -> None:
        self.events.append(event)
        self.sounds.take(len(self.events), event)
        if isinstance(event, ListenedTo):
            self.listened.add(event.clip)
        if isinstance(event, SoundDropped):
            self.dropped |= dict.fromkeys(event.clips, event.why)

    def _sizes(self) -> list[int]:
        """Of the head files: each event makes them longer."""
        files = (folder / NAME for folder in self.folders)
        return [file.stat().st_size if file.exists() else 0 for file in files]
