from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.record.faults.disk import Flight
from tests.record.kills import PLAN

pytestmark = pytest.mark.skipif(
    sys.platform != "linux" or shutil.which("cc") is None, reason="needs Linux and a C compiler"
)


def test_whatever_call_fails_nothing_is_lost_and_it_is_told() -> None:
    """With each kind of fault, once or for good, what was acknowledged is there, and a refusal is spoken."""
    command = [sys.executable, "-m", "tests.record.faults.disk", "--every", "250"]
    in_memory = {"TMPDIR": "/dev/shm"} if Path("/dev/shm").is_dir() else {}
    done = subprocess.run(
        command, capture_output=True, text=True, check=False, env=os.environ | in_memory
    )
    assert done.returncode == 0, done.stdout + done.stderr
    rows = [line.strip("| ").split(" | ") for line in done.stdout.splitlines()[2:]]
    assert len(rows) == 14
    for _fault, _spare, flown, _whole, acknowledged, wrong in rows:
        assert int(flown) >= 1
        assert int(acknowledged) >= 1
        assert wrong == "0"


def test_silence_would_be_seen() -> None:
    """A leg in which a step is missing, and no sentence was spoken, counts as wrong."""
    whole = [*map(str, range(len(PLAN))), "sealed", "summary"]
    assert Flight(acknowledged=whole[:5]).silent
    assert not Flight(acknowledged=whole[:5], told=["The disk is full."]).silent
    assert not Flight(acknowledged=whole).silent
