"""The local codes by which legs are told apart where nobody may know which they are.

A leg's chain begins with a hash over its id, its time and its settings. As it stands that hash would
tell the leg: whoever knows the day can try every microsecond of it. So it goes through a key that
never leaves this machine (HMAC with SHA-256, RFC 2104), and so does every later hash of the chain:
the seal stands on paper, and would lead from there to the leg.
"""

from __future__ import annotations

import hmac
import re
import secrets
from contextlib import suppress
from typing import TYPE_CHECKING

from voice.collect.errors import CollectError
from voice.record.durable import make_file, make_folder
from voice.record.errors import cause

if TYPE_CHECKING:
    from pathlib import Path

NAME = "collect-key"
_KEY = re.compile(r"[0-9a-f]{64}\n")
_SHOWN = 12


class Key:
    """Turns the hashes of journals into codes: the same hash into the same code, and none back."""

    def __init__(self, key: bytes) -> None:
        self._key = key

    def code(self, digest: str) -> str:
        """The code of a hash of a chain, in hexadecimal like the hash itself."""
        return hmac.digest(self._key, digest.encode(), "sha256").hex()


def short(code: str) -> str:
    """As much of a leg's code as people need to tell legs apart."""
    return code[:_SHOWN]


def machine_key(home: Path) -> Key:
    """The key of this machine, in the folder of the user's own data; made when it is first needed.

    Raises:
        CollectError: where it cannot be read or made. No other key takes its place: with another one
            every leg of this machine would be counted a second time.
    """
    file = home / NAME
    try:
        make_folder(home)
        with suppress(FileExistsError):
            make_file(file, f"{secrets.token_hex(32)}\n".encode())
        text = file.read_text("ascii")
    except (OSError, UnicodeDecodeError) as error:
        why = cause(error) if isinstance(error, OSError) else "it is damaged"
        raise CollectError(f"The key {file} cannot be used: {why}. Nothing was sent.") from error
    if not _KEY.fullmatch(text):
        raise CollectError(
            f"The key {file} is damaged. Bring it back from a backup: with another key the legs of "
            "this machine would be counted twice. Nothing was sent."
        )
    return Key(bytes.fromhex(text))
