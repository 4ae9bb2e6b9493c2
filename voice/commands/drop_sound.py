"""Sound that goes by the programme's policy, from one leg or from all."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.record.errors import JournalError
from voice.record.retention import drop_sound
from voice.record.shelf import spare_folder

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import datetime
    from pathlib import Path

    from voice.record.retention import Policy


def drop_sounds(folders: Iterable[Path], policy: Policy, now: datetime) -> Iterator[str]:
    """Remove the sound of each leg that ``policy`` lets go, and say what went; one that fails stops no other.

    ``now`` is an aware time.
    """
    for folder in folders:
        try:
            files = drop_sound(folder, policy, now, spare_folder(folder))
        except JournalError as error:
            yield f"Leg {folder.name}: {error}"
            continue
        if files:
            yield f"Leg {folder.name}: {files} sounds removed; their hashes stay in the journal."
