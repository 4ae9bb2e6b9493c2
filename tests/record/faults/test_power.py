from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from random import Random

import pytest

from tests.record.faults.power import Change, Disk, in_clear

needs_shim = pytest.mark.skipif(
    sys.platform != "linux" or shutil.which("cc") is None, reason="needs Linux and a C compiler"
)


def change(what: str, path: str, data: bytes = b"", at: int = 0, other: str = "") -> Change:
    """A change of a file."""
    return Change(what, path, other, at, data)


@needs_shim
@pytest.mark.parametrize("how", [("--every", "45"), ("--every", "180", "--protected")])
def test_a_power_loss_takes_nothing_that_was_acknowledged(how: tuple[str, ...]) -> None:
    """Whatever a disk loses of what was not synced, the leg is found, whole up to the last acknowledged step.

    Of one that is kept encrypted, none of these writes holds a word in clear.
    """
    command = [sys.executable, "-m", "tests.record.faults.power", "--times", "1", *how]
    in_memory = {"TMPDIR": "/dev/shm"} if Path("/dev/shm").is_dir() else {}
    done = subprocess.run(
        command, capture_output=True, text=True, check=False, env=os.environ | in_memory
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 losses" in done.stdout
    assert int(done.stdout.split()[0]) > 400


def test_a_word_in_clear_would_be_seen() -> None:
    """A write with a word of a leg in it is told, with the file, whatever became of the file."""
    written = [change("write", "/leg/.new", b'{"unit":"mmHg"}'), change("write", "/leg/a", b"\x80")]
    assert in_clear(written) == ["/leg/.new held mmHg in clear."]


def test_what_was_not_synced_may_be_lost() -> None:
    """Of a file only what was synced is sure, and of its name only what its folder was synced for."""
    disk = Disk()
    for one in (
        change("create", "/leg/a"),
        change("write", "/leg/a", b"old"),
        change("sync", "/leg/a"),
    ):
        disk.take(one)
    assert disk.after_power_loss(None) == {}
    disk.take(change("sync", "/leg"))
    disk.take(change("write", "/leg/a", b"new, and longer"))
    assert disk.after_power_loss(None) == {"/leg/a": b"old"}
    assert disk.after_power_loss(None, all_of_it=True) == {"/leg/a": b"new, and longer"}


def test_a_long_write_is_torn_at_sectors() -> None:
    """By chance some sectors of a write come through and others not."""
    disk = Disk()
    for one in (
        change("create", "/leg/a"),
        change("sync", "/leg"),
        change("truncate", "/leg/a", at=0),
    ):
        disk.take(one)
    disk.take(change("write", "/leg/a", b"x" * 2048))
    contents = {disk.after_power_loss(Random(seed))["/leg/a"] for seed in range(40)}
    assert {len(content) % 512 for content in contents} == {0}
    assert any(b"\0" in content and b"x" in content for content in contents)


def test_a_file_goes_with_its_folder() -> None:
    """What is in a folder that was not synced into its own is not reached after a power loss."""
    disk = Disk()
    for one in (
        change("mkdir", "/legs/leg"),
        change("create", "/legs/leg/a"),
        change("sync", "/legs/leg"),
    ):
        disk.take(one)
    assert disk.after_power_loss(None) == {}
    disk.take(change("sync", "/legs"))
    assert disk.after_power_loss(None) == {"/legs/leg/a": b""}


def test_a_file_is_renamed_whole() -> None:
    """Before the folder is synced the old name may stand, and afterwards the new one does."""
    disk = Disk()
    for one in (
        change("create", "/leg/new"),
        change("write", "/leg/new", b"told"),
        change("sync", "/leg/new"),
        change("sync", "/leg"),
        change("rename", "/leg/new", other="/leg/summary"),
    ):
        disk.take(one)
    assert disk.after_power_loss(None) == {"/leg/new": b"told"}
    disk.take(change("sync", "/leg"))
    assert disk.after_power_loss(None) == {"/leg/summary": b"told"}
