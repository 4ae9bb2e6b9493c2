"""Models from elsewhere, brought onto this machine: copied, vouched for, tried, and only then there."""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
import tempfile
import urllib.request
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING

from voice.acoustics.shipped import CHECKSUMS, vouch
from voice.entries.errors import LegbookError
from voice.hearing import official
from voice.hearing.model import ModelFolderError
from voice.session.models import SHIPPED_NAME, Model, choose, models, models_root

if TYPE_CHECKING:
    from collections.abc import Callable

    from voice.meaning.grammar import Grammar

TRIAL_MAY_TAKE_S = 120.0
"""A model that has not heard a second of silence by then is of no use on the road."""
_TIMEOUT_S = 30.0
_PIECE = 1 << 18


class BringInError(LegbookError):
    """A model cannot be brought onto this machine."""


def use(name_or_folder: str, grammar: Grammar) -> Model:
    """Hear from now on with a model of this machine, or with one that is brought in first.

    Raises what ``choose`` and ``bring_in`` raise; then nothing has changed.
    """
    there = {model.name: model for model in models()}
    if name_or_folder not in there and Path(name_or_folder).is_dir():
        return choose(bring_in(Path(name_or_folder), grammar).name)
    if name_or_folder in there:
        there[name_or_folder].spellings(grammar)
    return choose(name_or_folder)


def bring_in(folder: Path, grammar: Grammar) -> Model:
    """Copy the model in ``folder`` onto this machine, once it has proved itself.

    A folder without checksums gets them now, as it is: from then on they are compared at each load.

    Raises what ``Model.spellings`` raises, and ``BringInError`` where Vosk breaks down over it or
    where there is another model of that name.
    """
    name = folder.resolve().name
    if name == SHIPPED_NAME or name.startswith("."):
        raise BringInError(f'A model cannot be called "{name}". Give its folder another name.')
    if not (folder / "am" / "final.mdl").is_file():
        raise ModelFolderError(
            f"There is no acoustic model in {folder}: it lacks am/final.mdl. "
            "Name the folder of a Vosk model with look-ahead."
        )
    root = models_root()
    root.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=root, prefix=".") as passing:
        copy = Path(passing) / name
        try:
            shutil.copytree(folder, copy)
        except (OSError, shutil.Error) as error:
            raise BringInError(
                f"The model in {folder} cannot be copied to {root}: {error}. Make room, and try again."
            ) from error
        if not (copy / CHECKSUMS).exists():
            vouch(copy)
        Model(name, copy).spellings(grammar)
        _try(copy)
        _put(copy, root / name)
    return Model(name, root / name)


def fetch(grammar: Grammar, progress: Callable[[int, int], None]) -> Model:
    """Fetch the official small English model and bring it in; needs a network, so never on a leg.

    Vosk's own downloader unpacks first and throws the archive away, so that nothing could be
    compared; therefore the address is Vosk's, and the archive is checked before it is unpacked.
    ``progress`` is told the bytes that have come, and of how many (0 where that is not known).

    Raises ``BringInError`` where there is no way there or where something else comes back, and what
    ``bring_in`` raises.
    """
    with tempfile.TemporaryDirectory(prefix="legbook-") as passing:
        archive = Path(passing) / "model.zip"
        _download(archive, progress)
        with archive.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        if digest != official.SHA256:
            raise BringInError(
                f"What came from {official.ADDRESS} is not the model {official.NAME}: its SHA-256 is "
                f"{digest}, and not {official.SHA256}. Nothing of it is kept. Try another network."
            )
        with zipfile.ZipFile(archive) as packed:
            packed.extractall(passing)
        return bring_in(Path(passing) / official.NAME, grammar)


def _download(archive: Path, progress: Callable[[int, int], None]) -> None:
    try:
        with (
            urllib.request.urlopen(official.ADDRESS, timeout=_TIMEOUT_S) as answer,  # noqa: S310 - our own
            archive.open("wb") as file,
        ):
            total, come = int(answer.headers.get("Content-Length", 0)), 0
            while piece := answer.read(_PIECE):
                file.write(piece)
                come += len(piece)
                progress(come, total)
    except OSError as error:
        raise BringInError(
            f"The model cannot be fetched from {official.ADDRESS} ({error}). Connect to a network, or "
            "fetch and unpack it on another machine, then: legbook model use FOLDER"
        ) from error


def _try(folder: Path) -> None:
    """Load it and let it hear silence, in a process of its own: Kaldi ends the whole process."""
    command = [sys.executable, "-m", "voice.training.trial", str(folder)]
    try:
        done = subprocess.run(
            command, capture_output=True, text=True, timeout=TRIAL_MAY_TAKE_S, check=False
        )
    except subprocess.TimeoutExpired as error:
        raise BringInError(
            f"The model {folder.name} is too slow for this machine: within {TRIAL_MAY_TAKE_S:.0f} s "
            "it did not hear a second of silence. Nothing has changed; name another."
        ) from error
    if done.returncode:
        said = (done.stderr.strip().splitlines() or ["no word of why"])[-1]
        raise BringInError(
            f"Vosk breaks down over the model {folder.name} ({said}). "
            "Nothing has changed; name another."
        )


def _put(copy: Path, place: Path) -> None:
    if place.exists():
        if (place / CHECKSUMS).read_bytes() != (copy / CHECKSUMS).read_bytes():
            raise BringInError(
                f"There is another model called {place.name} on this machine, in {place}. "
                "Give the new one's folder another name."
            )
        shutil.rmtree(place)  # it may have been damaged since; the copy was just proved
    copy.rename(place)
