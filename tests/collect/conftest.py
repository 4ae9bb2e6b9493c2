from __future__ import annotations

from itertools import count
from typing import TYPE_CHECKING

import pytest

from tests.collect.certificates import Certified, certified
from tests.collect.server import EMPTY, NAME, PROGRAMS, Server, running
from voice.collect.address import address
from voice.collect.database import connected, prepare

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

_NUMBERS = count(1)


@pytest.fixture(scope="session")
def proof() -> Certified:
    """The server's certificate, and the authority behind it."""
    return certified(NAME, "Authority of the tests")


@pytest.fixture(scope="session")
def server(proof: Certified) -> Iterator[Server]:
    """The one PostgreSQL of all tests here; the gate's set-up installs it on Linux."""
    if not PROGRAMS:
        pytest.skip("needs Debian's PostgreSQL")
    with running(proof) as started:
        yield started


@pytest.fixture
def bare(server: Server) -> str:
    """The name of a new database with nothing in it."""
    name = f"legs_{next(_NUMBERS)}"
    with server.connect("postgres") as owner:
        owner.execute(f"CREATE DATABASE {name} TEMPLATE template0")
    return name


@pytest.fixture(scope="session")
def _tables(server: Server) -> str:
    with server.connect("postgres") as owner:
        owner.execute("CREATE DATABASE legs TEMPLATE template0")
    with connected(address(server.address("legs"), {})) as connection:
        prepare(connection)
    return "legs"


@pytest.fixture
def database(server: Server, _tables: str) -> str:
    """The name of a database with the tables made, and nothing in them."""
    with server.connect(_tables) as owner:
        owner.execute(EMPTY)
    return _tables


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where legbook keeps its legs, with no leg in it."""
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    monkeypatch.delenv("LEGBOOK_SPARE", raising=False)
    monkeypatch.setenv("COLUMNS", "400")
    return tmp_path
