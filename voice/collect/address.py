"""To which database, and that it can be no other: what PostgreSQL's own library is told.

An address is one of libpq's, as keywords or as a URL. The password is not part of it: a command line
can be read by everybody on the machine. libpq takes it from its password file (``~/.pgpass``, or what
PGPASSFILE names) or from a service file.
"""

from __future__ import annotations

import ipaddress
from typing import TYPE_CHECKING

import psycopg
from psycopg.conninfo import conninfo_to_dict

from voice.collect.errors import CollectError

if TYPE_CHECKING:
    from collections.abc import Mapping

SURE = frozenset({"verify-ca", "verify-full"})
"""The ways of TLS by which it is known who answers."""
_SECRETS = ("password", "sslpassword")
_PATIENCE = {
    "connect_timeout": "10",
    "keepalives_idle": "10",
    "keepalives_interval": "5",
    "keepalives_count": "3",
    "tcp_user_timeout": "30000",
}
"""When a network that has gone is given up: libpq's keywords, in s, the last in ms."""


def address(
    asked: str, environment: Mapping[str, str], *, unchecked: bool = False
) -> dict[str, str]:
    """All that libpq is to be told of the database ``asked`` for.

    Unless the database is on this machine, its certificate and name are checked (``verify-full``)
    whatever the environment or a service file say; ``unchecked`` is a person's word that they need
    not be.

    Raises:
        CollectError: where it is no address, holds a password, or asks for less than a checked
            connection without that word.
    """
    try:
        told = {
            name: str(value) for name, value in conninfo_to_dict(asked).items() if value is not None
        }
    except psycopg.ProgrammingError:
        raise CollectError(
            "That is no address of a database. Give it as PostgreSQL has it: "
            '"host=db.example.org dbname=legs user=crew", a postgresql:// URL, or "service=NAME".'
        ) from None
    if any(name in told for name in _SECRETS):
        raise CollectError(
            "The address holds a password, which others on this machine can read. Take it out and "
            "change it; keep the new one in the file ~/.pgpass, where PostgreSQL's library finds it."
        )
    if not _is_local(told, environment):
        told.setdefault("sslmode", "require" if unchecked else "verify-full")
        if told["sslmode"] not in SURE and not unchecked:
            raise CollectError(
                f"sslmode={told['sslmode']} does not make sure which machine answers, so nothing was "
                "sent. Leave it out; or give --unchecked, if you know that nobody can come between."
            )
        told["gssencmode"] = "disable"  # it would go before TLS
    return _PATIENCE | {"application_name": "legbook"} | told


def _is_local(told: Mapping[str, str], environment: Mapping[str, str]) -> bool:
    """Whether the database is on this machine; of a service nobody knows before it is asked."""
    if "service" in told or "PGSERVICE" in environment:
        return False
    hosts = [
        *told.get("host", environment.get("PGHOST", "")).split(","),
        *told.get("hostaddr", environment.get("PGHOSTADDR", "")).split(","),
    ]
    return all(map(_names_this_machine, hosts))


def _names_this_machine(host: str) -> bool:
    if not host or host == "localhost" or host.startswith(("/", "@")):
        return True  # no host, or one with a slash, is a socket in a folder
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
