"""Encryption at rest: the key that a passphrase or a key file opens, and what it locks.

One random **data key** (32 bytes) locks all legs of a machine. It never lies on the disk but locked itself, in the
small file ``protection.json``: one of the machine, and a copy in the folder of every leg, so that a copied leg opens by
its own file. Another passphrase locks the same data key anew, and no leg has to be written again.

- What opens it: scrypt (RFC 7914) over the passphrase, or over the bytes of the key file, with a random salt and the
  costs that the file names.
- The data key and the sounds: AES-256-GCM, each with a random nonce (NIST SP 800-38D).
- Journals: SQLCipher (`voice.record.cipher_db`). Its key and that of the sounds come from the data key by
  HKDF-SHA256 (RFC 5869).

All but SQLCipher is done by the package ``cryptography``, whose own tests hold these standards' vectors;
``tests/record/test_protection.py`` holds scrypt's again.
"""

from __future__ import annotations

import os
import secrets
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt
from pydantic import AfterValidator, Field, ValidationError

from voice.entries.frozen import Frozen
from voice.record.durable import is_there, make_file, make_folder, replace_file
from voice.record.errors import JournalError, cause
from voice.record.places import legs_root, spare_root

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

NAME = "protection.json"
PASSPHRASE = "LEGBOOK_PASSPHRASE"  # noqa: S105 - the name of a variable
KEY_FILE = "LEGBOOK_KEY_FILE"
"""What opens the legs where nobody is there to be asked."""
COST = 2**17
"""Scrypt's N for what is locked from now on: 128 MB and some tenths of a second a try. OWASP's password storage
cheat sheet names N = 2^17, r = 8, p = 1 (from memory)."""
_MOST_COST = 2**20
_BLOCK, _PARALLEL = 8, 1
_KEY_BYTES, _SALT_BYTES, _NONCE_BYTES = 32, 16, 12
_SOUND = b"LEGBOOK SOUND 1\n"
"""Before a locked sound; no FLAC file begins so."""


class LockedError(JournalError):
    """A leg is protected, and what opens it was not given, or is wrong."""


def _power_of_two(cost: int) -> int:
    """Scrypt takes no other."""
    if cost & (cost - 1):
        raise ValueError("no power of two")
    return cost


class Lock(Frozen):
    """A data key, locked: what ``protection.json`` holds."""

    format: Literal["legbook protection 1"] = "legbook protection 1"
    on: bool = True
    """In the machine's own file: whether new legs are protected."""
    opens: Literal["passphrase", "key file"]
    key_file: str | None = None
    """Where the key file lay when it was chosen."""
    key_id: str = Field(pattern=r"^[0-9a-f]{16}$")
    """Tells data keys apart, and nothing else of them."""
    cost: Annotated[int, Field(ge=2, le=_MOST_COST), AfterValidator(_power_of_two)]
    salt: str = Field(pattern=r"^[0-9a-f]{32}$")
    nonce: str = Field(pattern=r"^[0-9a-f]{24}$")
    locked: str = Field(pattern=r"^[0-9a-f]{96}$")
    """The data key, in hexadecimal."""


@dataclass(frozen=True)
class DataKey:
    """An open data key."""

    secret: bytes

    @property
    def id(self) -> str:
        """See `Lock.key_id`."""
        return self._derived(b"id").hex()[:16]

    @property
    def journal(self) -> bytes:
        """The key of journal files."""
        return self._derived(b"journal")

    def lock_sound(self, name: str, content: bytes) -> bytes:
        """A sound as it lies on the disk."""
        nonce = secrets.token_bytes(_NONCE_BYTES)
        return (
            _SOUND + nonce + AESGCM(self._derived(b"sound")).encrypt(nonce, content, name.encode())
        )

    def open_sound(self, name: str, content: bytes) -> bytes | None:
        """A sound as it was kept; ``None`` where what lies on the disk was changed, or is another's."""
        nonce, locked = content[len(_SOUND) :][:_NONCE_BYTES], content[len(_SOUND) + _NONCE_BYTES :]
        try:
            return AESGCM(self._derived(b"sound")).decrypt(nonce, locked, name.encode())
        except (InvalidTag, ValueError):
            return None

    def _derived(self, what: bytes) -> bytes:
        return HKDF(SHA256(), _KEY_BYTES, None, b"legbook " + what).derive(self.secret)


def is_locked_sound(content: bytes) -> bool:
    """Whether these are the bytes of a protected sound."""
    return content.startswith(_SOUND)


def scrypt(secret: bytes, salt: bytes, cost: int, block: int = _BLOCK, length: int = 32) -> bytes:
    """RFC 7914, with p = 1."""
    return Scrypt(salt, length, cost, block, _PARALLEL).derive(secret)


def new_data_key() -> DataKey:
    """A random one."""
    return DataKey(secrets.token_bytes(_KEY_BYTES))


def lock_with(key: DataKey, secret: bytes, key_file: Path | None = None) -> Lock:
    """Lock a data key with a passphrase, or with the bytes of ``key_file``."""
    salt, nonce = secrets.token_bytes(_SALT_BYTES), secrets.token_bytes(_NONCE_BYTES)
    locked = AESGCM(scrypt(secret, salt, COST)).encrypt(nonce, key.secret, key.id.encode())
    return Lock(
        opens="key file" if key_file else "passphrase",
        key_file=str(key_file.absolute()) if key_file else None,
        key_id=key.id,
        cost=COST,
        salt=salt.hex(),
        nonce=nonce.hex(),
        locked=locked.hex(),
    )


def open_with(lock: Lock, secret: bytes) -> DataKey | None:
    """The data key; ``None`` where it is not what opens it."""
    wrapping = AESGCM(scrypt(secret, bytes.fromhex(lock.salt), lock.cost))
    try:
        return DataKey(
            wrapping.decrypt(
                bytes.fromhex(lock.nonce), bytes.fromhex(lock.locked), lock.key_id.encode()
            )
        )
    except InvalidTag:
        return None


# --- the files ---------------------------------------------------------------------------------------


def own_files() -> list[Path]:
    """Where the machine's own lock lies: beside the legs, and with the spare where there is one."""
    roots = [legs_root(), *filter(None, [spare_root()])]
    return [root.parent / NAME for root in roots]


def own_lock() -> Lock | None:
    """The machine's own lock; ``None`` where protection was never switched on.

    Raises:
        LockedError: where no disk tells whether there is one, or it is damaged.
    """
    return _first_lock(own_files())


def lock_of_new_legs() -> Lock | None:
    """The lock that a leg gets which begins now; ``None`` where new legs are not protected. Raises LockedError."""
    lock = own_lock()
    return lock if lock is not None and lock.on else None


def lock_of(folders: Iterable[Path]) -> Lock | None:
    """The lock of a leg with these folders; ``None`` where it is not protected.

    A folder that is not there tells nothing: a leg comes into its spare only when its own disk fails.

    Raises:
        LockedError: where no folder tells whether it has one, or it is damaged.
    """
    return _first_lock(folder / NAME for folder in folders if not _is_missing(folder))


def _first_lock(files: Iterable[Path]) -> Lock | None:
    """The first of several copies that can be read; ``None`` where a disk answered, and has none.

    A disk that does not answer must not pass for one without a lock: what is protected would be written in clear.
    """
    answered, silent, damaged = False, None, None
    for file in files:
        try:
            return Lock.model_validate_json(file.read_bytes())
        except (FileNotFoundError, NotADirectoryError):
            answered = True
        except OSError as error:
            silent = f"{file} cannot be read: {cause(error)}."
        except ValidationError:
            damaged = file
    if damaged is not None:
        raise LockedError(
            f"{damaged} is damaged: it holds the key of legs. "
            "Put it back from a copy; the folder of each leg has one."
        )
    if silent is not None and not answered:
        raise LockedError(f"{silent} Whether legs are protected is not known. Try again.")
    return None


def _is_missing(folder: Path) -> bool:
    """Whether there is surely no such folder; a disk that does not answer does not tell."""
    try:
        folder.stat()
    except (FileNotFoundError, NotADirectoryError):
        return True
    except OSError:
        return False
    return False


def write_lock(file: Path, lock: Lock) -> None:
    """Write it whole, in the place of one that may be there; raises OSError."""
    make_folder(file.parent)
    replace_file(file, lock.model_dump_json(indent=1).encode())


def mark(folder: Path, lock: Lock | None) -> None:
    """Put a leg's lock into one of its folders, where there is none; raises OSError."""
    if lock is not None and not is_there(folder / NAME):
        make_folder(folder)
        with suppress(FileExistsError):
            make_file(folder / NAME, lock.model_dump_json(indent=1).encode())


# --- opening -----------------------------------------------------------------------------------------


class Opened:
    """The data keys that are open in this program, by their ids; each is asked for once."""

    def __init__(self) -> None:
        self._keys: dict[str, DataKey] = {}
        self._refused: dict[str, str] = {}
        self.ask: Callable[[str], str] | None = None
        """Asks a person for the passphrase, told what for; ``None`` where nobody is there."""

    def take(self, key: DataKey) -> None:
        """Know a data key from now on."""
        self._keys[key.id] = key
        self._refused.pop(key.id, None)

    def forget(self) -> None:
        """Know none any more."""
        self._keys.clear()
        self._refused.clear()

    def key(self, lock: Lock) -> DataKey:
        """The data key of ``lock``: known already, or opened with what the environment or a person tells.

        Raises:
            LockedError: where neither opens it.
        """
        if lock.key_id in self._refused:
            raise LockedError(self._refused[lock.key_id])
        if lock.key_id not in self._keys:
            try:
                self._keys[lock.key_id] = self._opened(lock)
            except LockedError as error:
                self._refused[lock.key_id] = str(error)
                raise
        return self._keys[lock.key_id]

    def _opened(self, lock: Lock) -> DataKey:
        # the machine's own lock may have been changed since a copy was made of it: either will do
        locks = [lock]
        own = own_lock()
        if own is not None and own.key_id == lock.key_id and own != lock:
            locks.insert(0, own)
        first = locks[0]
        secret = _key_file_bytes(first) if first.opens == "key file" else self._passphrase()
        for one in locks:
            if (key := open_with(one, secret)) is not None:
                return key
        raise LockedError(
            "That is not the passphrase of the legs. Nothing was opened, and nothing changed."
            if first.opens == "passphrase"
            else f"The key file {key_file_of(first)} is not the one that opens the legs."
        )

    def _passphrase(self) -> bytes:
        if (given := os.environ.get(PASSPHRASE)) is not None:
            return given.encode()
        if self.ask is None:
            raise LockedError(f"The legs are protected by a passphrase: give it in {PASSPHRASE}.")
        return self.ask("Passphrase of the legs").encode()


def key_file_of(lock: Lock) -> Path:
    """Where the key file of ``lock`` is looked for: where the environment says, else where it lay when it was chosen."""
    return Path(os.environ.get(KEY_FILE) or lock.key_file or "")


def _key_file_bytes(lock: Lock) -> bytes:
    file = key_file_of(lock)
    try:
        return file.read_bytes()
    except OSError as error:
        raise LockedError(
            f"The legs are protected by a key file, and {file} cannot be read: {cause(error)}. "
            f"Bring it back, or name another place in {KEY_FILE}."
        ) from error


OPENED = Opened()
"""Of this program. A key is opened before a leg begins, and never asked for in it."""


def key_of(folders: Iterable[Path]) -> DataKey | None:
    """The data key of a protected leg with these folders; ``None`` where its lock is lost. Raises LockedError.

    A leg that has lost its own may be one of this machine.
    """
    lock = _first_lock([*(folder / NAME for folder in folders), *own_files()])
    return None if lock is None else OPENED.key(lock)


def prepare() -> None:
    """Open before a leg what the leg will need; raises LockedError where it cannot be opened."""
    if (lock := lock_of_new_legs()) is not None:
        OPENED.key(lock)
