"""Files that are on the disk when the call returns, and readable by their owner alone."""

from __future__ import annotations

import os
from contextlib import suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

OWNER_FILE = 0o600
OWNER_FOLDER = 0o700
_OTHERS = 0o077
_IN_THE_MAKING = ".new"


def is_there(path: Path) -> bool:
    """Whether there is such a file or folder; on a disk that does not answer there is none."""
    try:
        return path.exists()
    except OSError:
        return False


def listed(folder: Path, pattern: str) -> list[Path]:
    """What the folder holds that fits; nothing where it is missing or its disk does not answer."""
    try:
        return sorted(folder.glob(pattern))
    except OSError:
        return []


def silent(folder: Path) -> OSError | None:
    """Why a folder that is there cannot be listed; ``None`` where it can, or is not there."""
    try:
        with os.scandir(folder):
            return None
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        return error


def open_to_others(root: Path) -> list[Path]:
    """Files and folders from ``root`` down that others than their owner may read or write.

    None where the system keeps such rights elsewhere (Windows: in lists of their own).
    """
    if os.name == "nt" or not is_there(root):
        return []
    found = []
    for path in (root, *root.rglob("*")):
        with suppress(OSError):
            if path.lstat().st_mode & _OTHERS and not path.is_symlink():
                found.append(path)
    return found


def make_folder(folder: Path) -> None:
    """Make the folder and those above it where they are missing; raises OSError."""
    if not folder.is_dir():
        make_folder(folder.parent)
        folder.mkdir(mode=OWNER_FOLDER, exist_ok=True)
        sync_folder(folder.parent)


def make_file(path: Path, content: bytes) -> None:
    """Write a new file, or leave none behind.

    Raises OSError, and FileExistsError rather than touch one that is there.
    """
    descriptor = _open(path, os.O_EXCL)
    try:
        _write(descriptor, content)
    except OSError:
        with suppress(OSError):
            path.unlink()
        raise
    sync_folder(path.parent)


def beside(path: Path) -> Path:
    """Where a file is written before it is put in the place of ``path``."""
    return path.with_name(f".{path.name}{_IN_THE_MAKING}")


def left_beside(folder: Path, pattern: str) -> list[Path]:
    """What a crash left there of files whose names were to fit, and of SQLite's journals of them."""
    return listed(folder, f".{pattern}{_IN_THE_MAKING}*")


def replace_file(path: Path, content: bytes) -> None:
    """Write a file whole, in the place of one that may be there; raises OSError.

    Whenever the program or the machine stops, the old one or the new one is there, and no half of one.
    """
    new = beside(path)
    with suppress(FileNotFoundError):
        new.unlink()  # a crash left it
    make_file(new, content)
    try:
        new.replace(path)
    except OSError:
        with suppress(OSError):
            new.unlink()
        raise
    sync_folder(path.parent)


def remove_file(path: Path) -> None:
    """Remove a file, for good also after a power loss; raises OSError. Its bytes are not overwritten."""
    path.unlink()
    sync_folder(path.parent)


def append_line(path: Path, line: str) -> None:
    """Add a line to a file, which is made where it is missing; raises OSError.

    A line feed stands on both sides: a line that an earlier failure tore does not swallow this one, and
    if this one is torn, whatever comes of it, those before it stand.
    """
    new = not path.exists()
    _write(_open(path, os.O_APPEND), f"\n{line}\n".encode())
    if new:
        sync_folder(path.parent)


def _open(path: Path, how: int) -> int:
    return os.open(path, os.O_WRONLY | os.O_CREAT | how, OWNER_FILE)


def _write(descriptor: int, content: bytes) -> None:
    with os.fdopen(descriptor, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def sync_folder(folder: Path) -> None:
    """Make the names in the folder durable, where the system can (Windows cannot)."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
