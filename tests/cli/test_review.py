from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
from http.client import HTTPConnection
from typing import TYPE_CHECKING

import pytest

from tests.review.flight import desk_leg

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

ADDRESS = re.compile(r"http://127\.0\.0\.1:(\d+)(/\?token=\S+)")


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[subprocess.Popen[str]]:
    """A desk at the last leg, opened from the command line."""
    desk_leg(tmp_path / "legs")
    process = subprocess.Popen(
        [sys.executable, "-m", "voice.cli", "review"],
        env={**os.environ, "LEGBOOK_HOME": str(tmp_path), "PYTHONUNBUFFERED": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    yield process
    process.kill()
    process.communicate()


def test_the_desk_opens_on_this_machine_until_it_is_interrupted(
    desk: subprocess.Popen[str],
) -> None:
    """The command tells an address that works, at no other address of the machine, and ends quietly."""
    assert desk.stdout is not None
    told = ADDRESS.search(desk.stdout.readline())
    assert told is not None
    connection = HTTPConnection("127.0.0.1", int(told[1]))
    connection.request("GET", told[2])
    entered = connection.getresponse()
    cookie = entered.headers["set-cookie"].split(";")[0]
    entered.read()
    connection.request("GET", "/data/leg", headers={"cookie": cookie})
    assert b'"caution"' in connection.getresponse().read()
    connection.close()
    with socket.socket() as other, pytest.raises(ConnectionRefusedError):
        other.connect(("127.0.0.2", int(told[1])))
    desk.send_signal(signal.SIGINT)
    rest, _ = desk.communicate(timeout=60)
    assert desk.returncode == 0
    assert "Traceback" not in rest
