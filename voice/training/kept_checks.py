"""Voice checks on disk: one file each, for their owner's eyes alone, and never sent anywhere."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import ValidationError

from voice.entries.errors import LegbookError
from voice.record.durable import make_file, make_folder
from voice.record.places import legs_root
from voice.training.voice_check import VoiceCheck

if TYPE_CHECKING:
    from pathlib import Path


class KeptCheckError(LegbookError):
    """A voice check cannot be kept, or a kept one cannot be read."""


def checks_root() -> Path:
    """Where voice checks lie."""
    return legs_root().parent / "voice-checks"


def keep(check: VoiceCheck) -> Path:
    """Write ``check`` into a new file; raises ``KeptCheckError``."""
    file = checks_root() / f"{check.at:%Y-%m-%d-%H%M%S}.json"
    try:
        make_folder(file.parent)
        make_file(file, check.model_dump_json(indent=1).encode())
    except OSError as error:
        raise KeptCheckError(
            f"The voice check cannot be kept in {file} ({error.strerror}). Make room, or name "
            "another folder in LEGBOOK_HOME, and check again."
        ) from error
    return file


def last_check(voice: str) -> VoiceCheck | None:
    """The latest check of ``voice`` that was kept; raises ``KeptCheckError`` for a damaged file."""
    root = checks_root()
    files = sorted(root.glob("*.json"), reverse=True) if root.is_dir() else []
    for file in files:
        try:
            check = VoiceCheck.model_validate_json(file.read_bytes())
        except (OSError, ValidationError) as error:
            raise KeptCheckError(
                f"The voice check in {file} cannot be read. Move the file away, and check again."
            ) from error
        if check.voice == voice:
            return check
    return None
