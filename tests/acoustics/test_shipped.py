"""The shipped model: whole, damaged, missing."""

from __future__ import annotations

import shutil
import time
from typing import TYPE_CHECKING

import pytest

from voice.acoustics import shipped
from voice.acoustics.shipped import CHECKSUMS, MODEL_FOLDER, ModelDamagedError, verify

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the shipped model that may be harmed, in its place."""
    folder = shutil.copytree(MODEL_FOLDER, tmp_path / "model")
    monkeypatch.setattr(shipped, "MODEL_FOLDER", folder)
    return folder


def test_the_shipped_model_is_whole() -> None:
    """Every file that the checksums name is there and unharmed."""
    verify(MODEL_FOLDER)


def test_every_file_that_vosk_reads_is_checked() -> None:
    """No file of the model lies outside the list of checksums."""
    listed = {
        line.split()[1] for line in (MODEL_FOLDER / CHECKSUMS).read_text("utf-8").splitlines()
    }
    there = {
        path.relative_to(MODEL_FOLDER).as_posix()
        for path in MODEL_FOLDER.rglob("*")
        if path.is_file()
    }
    assert there - listed == {CHECKSUMS, "LICENCE.md"}


def test_a_changed_byte_is_found(copy: Path) -> None:
    """One changed byte in the network is reported with the file's name."""
    network = copy / "am" / "final.mdl"
    content = bytearray(network.read_bytes())
    content[len(content) // 2] ^= 1
    network.write_bytes(content)
    with pytest.raises(ModelDamagedError, match=r"final\.mdl is damaged.*Install legbook again"):
        verify(copy)


def test_a_missing_file_is_found(copy: Path) -> None:
    """A file that is gone is reported with its name."""
    (copy / "graph" / "HCLr.fst").unlink()
    with pytest.raises(ModelDamagedError, match=r"HCLr\.fst cannot be read"):
        verify(copy)


@pytest.mark.parametrize("content", ["", "no checksum at all\n"])
def test_a_damaged_list_is_found(copy: Path, content: str) -> None:
    """A list of checksums that says nothing does not pass for a whole model."""
    (copy / CHECKSUMS).write_text(content, encoding="utf-8")
    with pytest.raises(ModelDamagedError, match="checksums"):
        verify(copy)


def test_a_missing_list_is_found(copy: Path) -> None:
    """A folder without a list of checksums is no model of ours."""
    (copy / CHECKSUMS).unlink()
    with pytest.raises(ModelDamagedError, match="cannot be read"):
        verify(copy)


def test_verifying_is_quick() -> None:
    """Verifying uses less than 100 ms of computing, so that every start can afford it."""
    start = time.process_time()
    verify(MODEL_FOLDER)
    assert time.process_time() - start < 0.1
