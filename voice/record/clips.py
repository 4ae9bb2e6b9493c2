"""The kept sound: one FLAC file a stretch of speech, on the disk before the event that names it."""

from __future__ import annotations

from hashlib import sha256
from io import BytesIO
from typing import TYPE_CHECKING

import soundfile

from voice.record.data_key import is_locked_sound
from voice.record.durable import is_there, listed, make_file, make_folder
from voice.record.events import Clip, SoundDropped
from voice.record.protection import keys_of

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray

    from voice.record.data_key import DataKey
    from voice.record.events import Event

FOLDER = "clips"


def write(
    folder: Path,
    number: int,
    samples: NDArray[np.int16],
    rate_hz: int,
    key: DataKey | None = None,
) -> Clip:
    """Keep mono sound as the leg's clip ``number``, protected with ``key`` if there is one.

    The hash is that of the sound as it is heard, protected or not. Raises OSError where it cannot be written.
    """
    sound = BytesIO()
    soundfile.write(sound, samples, rate_hz, format="FLAC", subtype="PCM_16")
    flac = sound.getvalue()
    name = f"{number:04}.flac"
    make_folder(folder / FOLDER)
    make_file(folder / FOLDER / name, key.lock_sound(name, flac) if key else flac)
    return Clip(name=name, sha256=sha256(flac).hexdigest())


def names(folders: Iterable[Path]) -> set[str]:
    """Names of all clip files of a leg."""
    return {path.name for folder in folders for path in listed(folder / FOLDER, "*.flac")}


def dropped(events: Iterable[Event]) -> set[str]:
    """Names of the clips that had to go by policy."""
    return {name for event in events if isinstance(event, SoundDropped) for name in event.clips}


def highest_number(names: Iterable[str]) -> int:
    """The highest number of these clips; 0 where there are none."""
    stems = (name.removesuffix(".flac") for name in names)
    return max((int(stem) for stem in stems if stem.isdecimal()), default=0)


def find(folders: Iterable[Path], name: str) -> Path | None:
    """Where the clip lies; ``None`` where it is missing."""
    paths = (folder / FOLDER / name for folder in folders)
    return next(filter(is_there, paths), None)


class ClipError(Exception):
    """What is wrong with a clip, in a whole sentence."""


def content(folders: Iterable[Path], clip: Clip) -> bytes:
    """The sound as it was kept, a FLAC file; raises ClipError where it is not there any more, or was changed."""
    folders = list(folders)
    path = find(folders, clip.name)
    if path is None:
        raise ClipError(f"Sound clip {clip.name} is missing.")
    try:
        found: bytes | None = path.read_bytes()
    except OSError:
        raise ClipError(f"Sound clip {clip.name} cannot be read.") from None
    if found and is_locked_sound(found):
        keys = keys_of([path.parent.parent, *folders])
        found = opened(clip.name, found, keys)
    if found is None or sha256(found).hexdigest() != clip.sha256:
        raise ClipError(f"Sound clip {clip.name} was changed.")
    return found


def opened(name: str, locked: bytes, keys: Iterable[DataKey]) -> bytes | None:
    """A protected sound by the first of ``keys`` that opens it; ``None`` where none does."""
    tries = (key.open_sound(name, locked) for key in keys)
    return next((sound for sound in tries if sound is not None), None)


def fault(folders: Iterable[Path], clip: Clip) -> str | None:
    """What is wrong with a clip, in a whole sentence; ``None`` where it is as it was kept."""
    try:
        content(folders, clip)
    except ClipError as fault:
        return str(fault)
    return None
