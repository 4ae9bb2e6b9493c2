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

from tests.review.conftest import SAND
from tests.review.flight import at, desk_leg
from voice.commands.handoff import write_summary
from voice.commands.review import REVIEWED, review
from voice.review.acts import ACT

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from voice.review.desk import Desk

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


@pytest.mark.parametrize("acted", [True, False])
def test_the_reviewed_summary_is_left_beside_the_one_that_was_handed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, acted: bool
) -> None:
    """A desk at which something was done leaves the summary anew when it closes, and the old one alone."""
    folder = desk_leg(tmp_path / "legs")
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    handed_over = write_summary(folder, at(12))
    told: list[str] = []

    def serve_until_interrupted(desk: Desk, *_: object) -> None:
        if acted:
            taken = {"act": "alternative", "number": 1, "index": 1, "head": desk.head}
            desk.do(ACT.validate_python(taken), SAND)
        raise KeyboardInterrupt

    monkeypatch.setattr("voice.commands.review.serve", serve_until_interrupted)
    with pytest.raises(KeyboardInterrupt):
        review(folder, told.append, readonly=False, port=0)
    assert (folder / "summary.txt").read_text("utf-8") == f"{handed_over}\n"
    assert (folder / REVIEWED).exists() == acted
    assert [str(folder / REVIEWED) in sentence for sentence in told] == [True] * acted
    if acted:
        assert "ICP 40 mmHg" in (folder / REVIEWED).read_text("utf-8")
