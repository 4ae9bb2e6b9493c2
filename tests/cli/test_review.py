from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
from http.client import HTTPConnection
from typing import TYPE_CHECKING, Any

import pytest

from tests.review.conftest import SAND, reading
from tests.review.flight import LEG, at, desk_leg
from voice.commands.handoff import write_summary
from voice.commands.review import REVIEWED, ReviewedSummary, review
from voice.review.acts import ACT

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from voice.review.desk import Desk
    from voice.review.doorkeeper import Doorkeeper

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
    page = Entered(desk)
    assert page.get("/data/leg")["caution"]
    page.leave()
    with socket.socket() as other, pytest.raises(ConnectionRefusedError):
        other.connect(("127.0.0.2", page.port))
    desk.send_signal(signal.SIGINT)
    rest, _ = desk.communicate(timeout=60)
    assert desk.returncode == 0
    assert "Traceback" not in rest


class Entered:
    """Somebody at the desk, who looks and acts as the page does."""

    def __init__(self, desk: subprocess.Popen[str]) -> None:
        assert desk.stdout is not None
        told = ADDRESS.search(desk.stdout.readline())
        assert told is not None
        self.port = int(told[1])
        self._connection = HTTPConnection("127.0.0.1", self.port)
        self._connection.request("GET", told[2])
        entered = self._connection.getresponse()
        entered.read()
        self._headers = {
            "cookie": entered.headers["set-cookie"].split(";")[0],
            "origin": f"http://127.0.0.1:{self.port}",
            "content-type": "application/json",
            "legbook-leg": LEG,
        }

    def get(self, path: str) -> Any:
        """What the desk answers."""
        self._connection.request("GET", path, headers=self._headers)
        return json.loads(self._connection.getresponse().read())

    def post(self, path: str, body: object) -> None:
        """Something that the desk takes."""
        self._connection.request("POST", path, json.dumps(body), self._headers)
        answer = self._connection.getresponse()
        assert answer.read()
        assert answer.status == 200

    def act(self, name: str, **told: object) -> None:
        """One act, decided on what is shown now."""
        act = {"act": name, "head": self.get("/data/head")["head"], **told}
        self.post("/acts", {"by": SAND.model_dump(), "act": act})

    def leave(self) -> None:
        """Go."""
        self._connection.close()


def wait_for(there: Callable[[], bool]) -> None:
    """Wait until it is so, 20 s at most."""
    until = time.monotonic() + 20
    while not there():
        assert time.monotonic() < until
        time.sleep(0.05)


def test_a_desk_that_is_killed_has_left_the_summary(
    desk: subprocess.Popen[str], tmp_path: Path
) -> None:
    """An act is in the reviewed summary soon after it, and a sign-off, without the desk being closed."""
    left = tmp_path / "legs" / LEG / REVIEWED
    page = Entered(desk)
    page.post("/who", SAND.model_dump())
    page.act("comment", text="so it was")
    wait_for(left.exists)
    assert "so it was" in left.read_text("utf-8")
    page.act("sign_off")
    wait_for(lambda: "Signed off" in left.read_text("utf-8"))
    page.leave()


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
            taken = {"act": "alternative", "head": desk.head, **reading(desk, 1, 1)}
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


@pytest.mark.skipif(not hasattr(time, "CLOCK_BOOTTIME"), reason="a clock of Linux")
def test_a_desk_is_locked_after_the_machine_slept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who shuts the lid for an hour comes back to a desk that is locked, though the monotonic clock stood."""
    folder = desk_leg(tmp_path / "legs")
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    slept_s = 0.0
    let_in: list[bool] = []

    def asleep(_desk: Desk, doorkeeper: Doorkeeper, *_: object) -> None:
        nonlocal slept_s
        key = doorkeeper.open(doorkeeper.new_token()) or ""
        let_in.append(doorkeeper.session(key) is not None)
        slept_s = 3600
        let_in.append(doorkeeper.session(key) is not None)

    monkeypatch.setattr("voice.commands.review.serve", asleep)
    monkeypatch.setattr(time, "clock_gettime", lambda _: time.monotonic() + slept_s)
    review(folder, print, readonly=True, port=0)
    assert let_in == [True, False]


def test_a_desk_leaves_what_the_last_one_could_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After a desk was killed, the next one at the leg leaves its summary; one to look only does not."""
    folder = desk_leg(tmp_path / "legs")
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    monkeypatch.setattr("voice.commands.review.QUIET_S", 0.01)

    def killed(desk: Desk, *_: object) -> None:
        desk.do(
            ACT.validate_python({"act": "comment", "text": "so it was", "head": desk.head}), SAND
        )
        raise SystemExit

    def closed(*_: object) -> None:
        if not readonly:
            wait_for((folder / REVIEWED).exists)

    monkeypatch.setattr("voice.commands.review.serve", killed)
    with monkeypatch.context() as dying:
        dying.setattr(ReviewedSummary, "leave", lambda _: None)
        with pytest.raises(SystemExit):
            review(folder, print, readonly=False, port=0)
    monkeypatch.setattr("voice.commands.review.serve", closed)
    for readonly in (True, False):
        assert not (folder / REVIEWED).exists()
        review(folder, print, readonly=readonly, port=0)
    assert "so it was" in (folder / REVIEWED).read_text("utf-8")


def test_a_summary_that_cannot_be_left_is_told(tmp_path: Path) -> None:
    """Whoever started the desk is told that the leg is safe and how its summary is shown; nothing fails."""
    folder = desk_leg(tmp_path)
    (folder / REVIEWED).mkdir()
    told: list[str] = []
    assert ReviewedSummary(folder, told.append).leave() is None
    (sentence,) = told
    assert REVIEWED in sentence
    assert f"legbook summary {LEG}" in sentence
