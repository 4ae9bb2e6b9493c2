from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

import pytest

from voice.record.durable import listed, replace_file
from voice.record.shelf import leave


def test_a_file_is_replaced_whole_or_not_at_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a file cannot be written anew the old one stands, and nothing else is left."""
    file = tmp_path / "summary.txt"
    replace_file(file, b"old")
    for refused in ("fsync", "replace"):

        def refuse(*_arguments: object) -> None:
            raise OSError(errno.ENOSPC, "No space left on device")

        with monkeypatch.context() as broken:
            broken.setattr(os if refused == "fsync" else Path, refused, refuse)
            with pytest.raises(OSError, match="No space"):
                replace_file(file, b"new")
        assert [path.read_bytes() for path in tmp_path.iterdir()] == [b"old"]
    (tmp_path / ".summary.txt.new").write_bytes(b"of a crash")
    replace_file(file, b"new")
    assert [path.read_bytes() for path in tmp_path.iterdir()] == [b"new"]
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_a_file_for_people_goes_to_the_spare(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a leg's own folder takes no file, the spare does; where neither does, that is raised."""
    monkeypatch.setenv("LEGBOOK_SPARE", str(tmp_path / "spare"))
    own, spare = tmp_path / "legs" / "leg", tmp_path / "spare" / "legs" / "leg"
    with pytest.raises(FileNotFoundError):
        leave(own, "summary.txt", b"told")
    spare.mkdir(parents=True)
    assert leave(own, "summary.txt", b"told") == spare / "summary.txt"
    own.mkdir(parents=True)
    assert leave(own, "summary.txt", b"told") == own / "summary.txt"


def test_a_folder_that_cannot_be_listed_holds_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disk that does not answer is as an empty one: the leg goes on."""

    def refuse(_folder: Path, _pattern: str) -> None:
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(Path, "glob", refuse)
    assert listed(tmp_path, "*") == []
