from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.record.faults import renewal
from tests.record.faults.renewal import NEW, Machine, anew, change_key, legs, made, wrong
from voice.record import protecting
from voice.record.converting import Converted
from voice.record.protection import PASSPHRASE

needs_shim = pytest.mark.skipif(
    sys.platform != "linux" or shutil.which("cc") is None, reason="needs Linux and a C compiler"
)


@pytest.fixture
def machine(home_of_keys: Path, monkeypatch: pytest.MonkeyPatch) -> Machine:
    """Two protected legs, opened by the old passphrase."""
    for name in ("LEGBOOK_HOME", "LEGBOOK_SPARE", PASSPHRASE):
        monkeypatch.setenv(name, "")  # put back afterwards
    machine = made(home_of_keys)
    anew(machine)
    return machine


@needs_shim
def test_whenever_a_change_of_the_key_is_broken_off_the_legs_are_whole() -> None:
    """Killed, on a failing disk, or without power, every leg opens, the same command goes on, and the old key opens nothing then."""
    command = [sys.executable, "-m", "tests.record.faults.renewal", "--every", "90"]
    in_memory = {"TMPDIR": "/dev/shm"} if Path("/dev/shm").is_dir() else {}
    done = subprocess.run(
        command, capture_output=True, text=True, check=False, env=os.environ | in_memory
    )
    assert done.returncode == 0, done.stdout + done.stderr
    rows = [line.strip("| ").split(" | ") for line in done.stdout.splitlines()[2:]]
    assert len(rows) == 9
    for _how, times, bad in rows:
        assert int(times) >= 1
        assert bad == "0"


def test_a_whole_change_of_the_key_is_well(machine: Machine) -> None:
    """Before it, after it, and where only the machine's lock was written, nothing is wrong."""
    assert wrong(machine) == []
    assert wrong(machine) == []
    anew(machine)
    protecting.renew(NEW.encode())
    assert wrong(machine) == []


def test_a_loss_or_what_is_left_would_be_seen(
    machine: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A sound that is gone, a leg that stays under the old key, and one that opens by the old passphrase are told."""
    change_key()
    folder, _spare = next(iter(legs().values()))
    (folder / "clips" / "0001.flac").unlink()
    assert "Broken off: Sound clip 0001.flac is missing." in wrong(machine)
    anew(machine)
    monkeypatch.setattr(renewal, "convert", lambda *_leg: Converted(0))
    told = " ".join(wrong(machine))
    assert f"{folder / 'journal.sqlite'} opens by the old key" in told
    assert f"{folder / 'clips' / '0001.flac'} opens by the old key" in told
    assert f"{folder / 'protection.json'} opens by the old passphrase" in told
