"""Where the shipped model lies, and whether it is whole. Standard library only."""

from __future__ import annotations

import hashlib
from pathlib import Path

from voice.entries.errors import LegbookError

MODEL_FOLDER = Path(__file__).parent / "models" / "legbook-en"
"""A folder that Vosk can load."""
LEXICON = "graph/lexicon.txt"
"""In a model's folder: each word that it knows, with its phones."""
LEXICON_FILE = MODEL_FOLDER / LEXICON
CHECKSUMS = "SHA256SUMS"
"""Beside the model's files, in the form of the command ``sha256sum``."""


class ModelDamagedError(LegbookError):
    """A file of a model is missing or is not what it was."""


def verify(folder: Path = MODEL_FOLDER) -> None:
    """Compare every file of a model with its checksum.

    Takes some tens of milliseconds. Raises ``ModelDamagedError`` at the first file that is missing
    or differs.
    """
    for name, expected in _checksums(folder).items():
        try:
            with (folder / name).open("rb") as file:
                actual = hashlib.file_digest(file, "sha256").hexdigest()
        except OSError as error:
            raise ModelDamagedError(
                f"The model's file {folder / name} cannot be read ({error.strerror}). "
                f"{_remedy(folder)}"
            ) from error
        if actual != expected:
            raise ModelDamagedError(
                f"The model's file {folder / name} is damaged: its checksum differs. "
                f"{_remedy(folder)}"
            )


def vouch(folder: Path) -> None:
    """Write the checksums of all files of a model, as they are now."""
    files = sorted(f for f in folder.rglob("*") if f.is_file() and f.name != CHECKSUMS)
    lines = [
        f"{hashlib.sha256(file.read_bytes()).hexdigest()}  {file.relative_to(folder).as_posix()}\n"
        for file in files
    ]
    (folder / CHECKSUMS).write_text("".join(lines), encoding="utf-8")


def _checksums(folder: Path) -> dict[str, str]:
    """Read each file's SHA-256, by its name relative to the folder."""
    try:
        lines = (folder / CHECKSUMS).read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise ModelDamagedError(
            f"The model's list of checksums {folder / CHECKSUMS} cannot be read. {_remedy(folder)}"
        ) from error
    checksums = {name: digest for digest, _, name in (line.partition("  ") for line in lines)}
    if not checksums or not all(checksums):
        raise ModelDamagedError(
            f"The model's list of checksums {folder / CHECKSUMS} is damaged. {_remedy(folder)}"
        )
    return checksums


def _remedy(folder: Path) -> str:
    if folder == MODEL_FOLDER:
        return "Install legbook again."
    return "Bring the model in again with: legbook model use FOLDER"
