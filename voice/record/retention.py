"""How long sound is kept: by the programme's policy it may go before the journal does.

The journal says so first, and only then are the files removed. So a file that is missing without a word
stays a finding of `verify`, and a file that a crash left is removed by the next try.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from voice.record import clips
from voice.record.durable import is_there, left_beside, remove_file
from voice.record.errors import JournalError, cause
from voice.record.events import Heard, SoundDropped
from voice.record.journal import Journal
from voice.record.reading import leg_folders, read_chain

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime
    from pathlib import Path

    from voice.entries.leg import Leg


@dataclass(frozen=True)
class Policy:
    """When the sound of a leg may go; where both are asked for, both must hold."""

    signed: bool = False
    """Only after a reviewer has signed off the leg, and nothing was changed since."""
    after_days: int | None = None
    """Only so many days after the end of the leg."""

    @property
    def sentence(self) -> str:
        """The policy as the journal notes it."""
        parts = [
            *(["the leg was signed off"] if self.signed else []),
            *([f"it ended {self.after_days} days ago"] if self.after_days is not None else []),
        ]
        return f"By the programme's policy sound goes when {' and '.join(parts)}."

    def lets_go(self, leg: Leg, now: datetime) -> bool:
        """Whether the sound of ``leg`` may go ``now`` (aware): never that of one that has not ended."""
        if leg.ended_at is None or (self.signed and leg.signed is None):
            return False
        return self.after_days is None or now - leg.ended_at >= timedelta(days=self.after_days)


def drop_sound(folder: Path, policy: Policy, now: datetime, spare: Path | None = None) -> int:
    """Remove all sound of a leg, if ``policy`` lets it go; how many files went.

    Raises:
        JournalError: where the journal cannot be written, or is damaged, and where a file
            cannot be removed.
    """
    folders = leg_folders(folder, spare)
    with Journal.open(folder, now, spare=spare, though_sealed=True) as journal:
        if not policy.lets_go(journal.leg(), now):
            return 0
        events = read_chain(folders).events
        named = {event.clip.name for event in events if isinstance(event, Heard) and event.clip}
        named |= clips.names(folders)  # a crash may have left sound that no event names
        if left := tuple(sorted(named - clips.dropped(events))):
            journal.append(SoundDropped(at=now, clips=left, why=policy.sentence))
        _remove_half_done(folders)
        return sum(_remove(folders, name) for name in sorted(named))


def _remove_half_done(folders: Iterable[Path]) -> None:
    """Sound that was being written anew, for its protection, when the program was killed."""
    for file in (one for folder in folders for one in left_beside(folder / clips.FOLDER, "*.flac")):
        try:
            remove_file(file)
        except OSError as error:
            raise JournalError(
                f"Sound in {file} cannot be removed: {cause(error)}. Try again: the journal says that it goes."
            ) from error


def _remove(folders: Iterable[Path], name: str) -> bool:
    """Remove a sound from every folder that holds it: a copy may lie in the spare. Whether there was one."""
    found = [path for folder in folders if is_there(path := folder / clips.FOLDER / name)]
    for path in found:
        try:
            remove_file(path)
        except OSError as error:
            raise JournalError(
                f"Sound clip {name} cannot be removed: {cause(error)}. Try again: the journal says that it goes."
            ) from error
    return bool(found)
