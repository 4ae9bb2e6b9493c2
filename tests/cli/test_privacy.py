from __future__ import annotations

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from voice.record.shelf import legs

CLIPS = Path(__file__).parents[2] / "audio_fixtures" / "demo_leg" / "clips"
SAID = [CLIPS / f"{number:03}.opus" for number in (1, 6, 7, 102, 102)]
"""Start leg, pressure fourteen, confirm, end leg, and again."""

WITHOUT_NETWORK = """
import os, sys
NETWORK = {"socket.connect", "socket.getaddrinfo", "socket.gethostbyname", "socket.sendto", "socket.sendmsg"}
def forbid(event, arguments):
    if event in NETWORK:
        os.write(2, f"forbidden: {event} {arguments}".encode())
        os._exit(99)
sys.addaudithook(forbid)
from voice.cli import main
main()
"""


@pytest.mark.skipif(sys.platform != "linux", reason="names the folder of a user's data")
def test_a_leg_needs_no_network_and_is_for_its_owner_alone(tmp_path: Path) -> None:
    """A leg from its start to its summary asks nobody on any network, and leaves nothing that others may read."""
    home, passing = tmp_path / "home", tmp_path / "passing"
    passing.mkdir()
    # the user's cache stays, with the compiled grammar: nothing of a leg is in it
    environment = os.environ | {"XDG_DATA_HOME": str(home), "TMPDIR": str(passing)}
    environment.pop("LEGBOOK_HOME", None)
    done = subprocess.run(
        [sys.executable, "-c", WITHOUT_NETWORK, "listen", "--audio", "--fast", *map(str, SAID)],
        env=environment, umask=0o022, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    (leg,) = legs(home / "legbook" / "legs")
    assert leg.leg is not None
    assert [entry.state for entry in leg.leg.entries] == ["confirmed"]
    assert (home / "legbook" / "legs" / leg.id / "summary.txt").exists()
    open_to_others = {
        str(path.relative_to(tmp_path)): oct(path.stat().st_mode)
        for path in home.rglob("*")
        if not path.is_symlink() and stat.S_IMODE(path.stat().st_mode) & 0o077
    }
    assert open_to_others == {}
    assert list(passing.iterdir()) == []


def test_a_call_to_the_network_would_be_seen() -> None:
    """The guard of the test above ends a program that calls out."""
    program = WITHOUT_NETWORK.replace(
        "from voice.cli import main\nmain()", "import socket\nsocket.getaddrinfo('localhost', 1)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, check=False)
    assert done.returncode == 99
