"""A real PostgreSQL for the tests, in a folder of its own: made, started, and gone with them.

PostgreSQL refuses to run as root; where the tests do, it runs as the user that Debian's package made.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import psycopg

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.collect.certificates import Certified

NAME = "db.legbook.test"
"""What the server's certificate says; ``.test`` is reserved (RFC 2606), so nobody is called by it."""
OWNER = "postgres"
EMPTY = "TRUNCATE legbook.received RESTART IDENTITY CASCADE"
"""Takes all legs out; the next one has the number 1 again."""
PROGRAMS = sorted(Path("/usr/lib/postgresql").glob("*/bin"))
"""Where Debian keeps those of each version."""
_HBA = """
local all all trust
host all secret 127.0.0.1/32 scram-sha-256
host all all 127.0.0.1/32 trust
"""


@dataclass(frozen=True)
class Server:
    """Where it can be reached."""

    port: int

    def address(
        self, database: str = "postgres", user: str = OWNER, port: int | None = None
    ) -> str:
        """An address on this machine, through ``port`` where something stands in between."""
        return f"host=127.0.0.1 port={port or self.port} dbname={database} user={user}"

    def connect(self, database: str) -> psycopg.Connection:
        """A connection of its owner, who may do everything."""
        return psycopg.connect(self.address(database), autocommit=True)


@contextmanager
def running(certified: Certified) -> Iterator[Server]:
    """A server that answers with a certificate, and does not wait for the disk."""
    with tempfile.TemporaryDirectory(prefix="legbook-db-", ignore_cleanup_errors=True) as temporary:
        data = Path(temporary) / "data"
        data.mkdir(mode=0o700)
        _give_away(Path(temporary), data)
        _as_its_user("initdb", "-D", data, "-U", OWNER, "--auth=trust", "--no-sync", "-E", "UTF8")
        (data / "pg_hba.conf").write_text(_HBA)
        for name, content in (("server.crt", certified.certificate), ("server.key", certified.key)):
            (data / name).write_bytes(content)
            (data / name).chmod(0o600)
            _give_away(data / name)
        port = _free_port()
        settings = {
            "port": port, "listen_addresses": "127.0.0.1", "unix_socket_directories": temporary,
            "ssl": "on", "fsync": "off", "max_connections": 20, "autovacuum": "off",
        }  # fmt: skip
        with (data / "postgresql.conf").open("a") as file:
            file.writelines(f"{name} = '{value}'\n" for name, value in settings.items())
        log = Path(temporary) / "log"
        try:
            _as_its_user("pg_ctl", "-D", data, "-l", log, "-w", "start")
            yield Server(port)
        finally:
            _as_its_user("pg_ctl", "-D", data, "-m", "immediate", "stop")


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _give_away(*paths: Path) -> None:
    if os.geteuid() == 0:
        for path in paths:
            shutil.chown(path, OWNER, OWNER)


def _as_its_user(program: str, *arguments: object) -> None:
    command = [str(PROGRAMS[-1] / program), *map(str, arguments)]
    if os.geteuid() == 0:
        command = ["runuser", "-u", OWNER, "--", *command]
    done = subprocess.run(
        command, cwd="/", stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout
