"""The kept sound: one FLAC file a stretch of speech, on the disk before the event that names it."""

from __future__ import annotations

from hashlib import sha256
from io import BytesIO
from typing import TYPE_CHECKING

import soundfile

from voice.record.durable import is_there, listed, make_file, make_folder
from voice.record.events import Clip, SoundDropped

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray

    from voice.record.events import Event

FOLDER = "clips"


def write(folder: Path, number: int, samples: NDArray[np.int16], rate_hz: int) -> Clip:
    """Keep mono sound as the leg's clip ``number``; raises OSError where it cannot be written."""
    sound = BytesIO()
    soundfile.write(sound, samples, rate_hz, format="FLAC", subtype="PCM_16")
    content = sound.getvalue()
    name = f"{number:04}.flac"
    make_folder(folder / FOLDER)
    make_file(folder / FOLDER / name, content)
    return Clip(name=name, sha256=sha256(content).hexdigest())


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


def fault(folders: Iterable[Path], clip: Clip) -> str | None:
    """What is wrong with a clip, in a whole sentence; ``None`` where it is as it was kept."""
    path = find(folders, clip.name)
    if path is None:
        return f"Sound clip {clip.name} is missing."
    try:
        content = path.read_bytes()
    except OSError:
        return f"Sound clip {clip.name} cannot be read."
    if sha256(content).hexdigest() != clip.sha256:
        return f"Sound clip {clip.name} was changed."
    return None
