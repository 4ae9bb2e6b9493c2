"""What tests of every kind share."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, settings

from tests.pulse import SoundServer, sound_server
from voice.record import protection
from voice.record.protection import KEY_FILE, OPENED, PASSPHRASE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

# property tests are judged by what holds, never by how long it took: the gate shares its machine with others
settings.register_profile("legbook", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("legbook")


@pytest.fixture(scope="session")
def acceptors(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where every process of this run keeps the phrases that it has compiled."""
    folder = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        folder = folder.parent
    (folder / "acceptors").mkdir(exist_ok=True)
    return folder / "acceptors"


@pytest.fixture
def move_in(acceptors: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[Path], Path]:
    """Makes a folder legbook's home: nothing is in it, but what takes seconds to compile is not done twice."""

    def to(home: Path) -> Path:
        (home / "cache").mkdir(parents=True)
        (home / "cache" / "acceptors").symlink_to(acceptors)
        monkeypatch.setenv("LEGBOOK_HOME", str(home))
        return home

    return to


@pytest.fixture
def home_of_keys(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A machine of this test only, on which legs can be protected, and keys are opened in no time."""
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    for name in ("LEGBOOK_SPARE", PASSPHRASE, KEY_FILE):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(protection, "COST", 2)
    OPENED.forget()
    yield tmp_path
    OPENED.forget()
    OPENED.ask = None


@pytest.fixture
def server(monkeypatch: pytest.MonkeyPatch) -> Iterator[SoundServer]:
    """A sound server that this process finds as its own."""
    with sound_server() as running:
        for name, value in running.environment.items():
            monkeypatch.setenv(name, value)
        yield running
