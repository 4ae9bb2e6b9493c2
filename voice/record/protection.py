"""Encryption at rest: the key that a passphrase or a key file opens, and what it locks.

One random **data key** (32 bytes) locks all legs of a machine. It never lies on the disk but locked itself, in the
small file ``protection.json``: one of the machine, and a copy in the folder of every leg, so that a copied leg opens by
its own file. Another passphrase locks the same data key anew, and no leg has to be written again. Where another data key
is made (`voice.record.protecting.renew`), the files keep those of before, locked with it: so what was not written anew yet opens too.

- What opens it: scrypt (RFC 7914) over the passphrase, or over the bytes of the key file, with a random salt and the
  costs that the file names.
- The data key itself: AES-256-GCM with a random nonce (NIST SP 800-38D).
- What the data key locks: `voice.record.data_key`.

All but SQLCipher is done by the package ``cryptography``, whose own tests hold these standards' vectors;
``tests/record/test_protection.py`` holds scrypt's again.
"""

from __future__ import annotations

import os
import secrets
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt
from pydantic import AfterValidator, Field, ValidationError

from voice.entries.frozen import Frozen
from voice.record.data_key import (
    KEY_BYTES,
    NONCE_BYTES,
    DataKey,
    EarlierKey,
    KeyId,
    LockedKey,
    Nonce,
)
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
_SALT_BYTES = 16


class LockedError(JournalError):
    """A leg is protected, and what opens it was not given, or is wrong."""


class OtherMachineError(LockedError):
    """A leg was protected on another machine: nothing of it is changed here."""


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
    key_id: KeyId
    cost: Annotated[int, Field(ge=2, le=_MOST_COST), AfterValidator(_power_of_two)]
    salt: str = Field(pattern=r"^[0-9a-f]{32}$")
    nonce: Nonce
    locked: LockedKey
    earlier: tuple[EarlierKey, ...] = ()
    """The data keys of before, the newest first: by them opens what was not written anew, and a copy from then."""
    renewing: bool = False
    """In the machine's own file: whether the newest data key has not reached all legs yet."""

    @property
    def known(self) -> frozenset[str]:
        """The ids of all data keys that it holds."""
        return frozenset({self.key_id, *(one.key_id for one in self.earlier)})

    def as_leg_has_it(self) -> Lock:
        """The machine's lock as a leg's own copy."""
        return self.model_copy(update={"on": True, "renewing": False})


def scrypt(secret: bytes, salt: bytes, cost: int, block: int = _BLOCK, length: int = 32) -> bytes:
    """RFC 7914, with p = 1."""
    return Scrypt(salt, length, cost, block, _PARALLEL).derive(secret)


def new_data_key() -> DataKey:
    """A random one."""
    return DataKey(secrets.token_bytes(KEY_BYTES))


def lock_with(key: DataKey, secret: bytes, key_file: Path | None = None) -> Lock:
    """Lock a data key with a passphrase, or with the bytes of ``key_file``."""
    salt, nonce = secrets.token_bytes(_SALT_BYTES), secrets.token_bytes(NONCE_BYTES)
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
    replace_file(file, _written(lock))


def mark(folder: Path, lock: Lock | None) -> None:
    """Put a leg's lock into one of its folders, where there is none; raises OSError."""
    if lock is not None and not is_there(folder / NAME):
        make_folder(folder)
        with suppress(FileExistsError):
            make_file(folder / NAME, _written(lock.as_leg_has_it()))


def _written(lock: Lock) -> bytes:
    """What has no earlier keys is written as before there were any: an older legbook reads it."""
    since = {"earlier", "renewing"} if not lock.earlier else None
    return lock.model_dump_json(indent=1, exclude=since).encode()


# --- opening -----------------------------------------------------------------------------------------


class Opened:
    """The data keys that are open in this program, by their ids; each is asked for once."""

    def __init__(self) -> None:
        self._keys: dict[str, DataKey] = {}
        self._refused: dict[str, str] = {}
        self._wrong: dict[str, bytes] = {}
        """What was refused: another copy of the lock may open by it, and nobody is asked twice."""
        self._from_environment: str | None = None
        self.ask: Callable[[str], str] | None = None
        """Asks a person for the passphrase, told what for; ``None`` where nobody is there."""

    def hide_passphrase(self) -> None:
        """Take the passphrase out of the environment, which each program that this one starts would get."""
        self._from_environment = os.environ.pop(PASSPHRASE, None)

    @property
    def given(self) -> str | None:
        """The passphrase as the environment told it."""
        return os.environ.get(PASSPHRASE, self._from_environment)

    def take(self, key: DataKey) -> None:
        """Know a data key from now on."""
        self._keys[key.id] = key
        self._refused.pop(key.id, None)

    def forget(self) -> None:
        """Know none any more, as a new start."""
        self._keys.clear()
        self._refused.clear()
        self._wrong.clear()

    def key(self, lock: Lock) -> DataKey:
        """The data key of ``lock``: known already, or opened with what the environment or a person tells.

        Raises:
            LockedError: where neither opens it.
        """
        if lock.key_id in self._refused:
            raise LockedError(self._refused[lock.key_id])
        if lock.key_id not in self._keys:
            try:
                self._open(lock)
            except LockedError as error:
                self._refused[lock.key_id] = str(error)
                raise
        return self._keys[lock.key_id]

    def keys(self, lock: Lock) -> tuple[DataKey, ...]:
        """The data key of ``lock``, and those of before that it holds. Raises as `key`."""
        key = self.key(lock)
        return (key, *filter(None, map(key.open_key, lock.earlier)))

    def _open(self, lock: Lock) -> None:
        # the machine's own lock may have been changed since a copy was made of it: either will do
        locks = [lock]
        own = own_lock()
        if own is not None and lock.key_id in own.known and own != lock:
            locks.insert(0, own)
        first = locks[0]
        if first.key_id not in self._keys:
            secret = self._wrong.get(first.key_id) or self._secret(first)
            opened = filter(None, (open_with(one, secret) for one in locks))
            if (key := next(opened, None)) is None:
                self._wrong[first.key_id] = secret
                raise LockedError(
                    "That is not the passphrase of the legs. Nothing was opened, and nothing changed."
                    if first.opens == "passphrase"
                    else f"The key file {key_file_of(first)} is not the one that opens the legs."
                )
            self.take(key)
        for one in locks:
            if one.key_id in self._keys:
                for key in self.keys(one):
                    self.take(key)
        if lock.key_id not in self._keys:
            raise LockedError(
                f"The key {lock.key_id} of before cannot be opened: the machine's {NAME} is damaged. "
                "Put it back from a copy; the folder of each leg has one."
            )

    def _secret(self, lock: Lock) -> bytes:
        if lock.opens == "key file":
            return _key_file_bytes(lock)
        if self.given is not None:
            return self.given.encode()
        if self.ask is None:
            raise LockedError(f"The legs are protected by a passphrase: give it in {PASSPHRASE}.")
        return self.ask("Passphrase of the legs").encode()


def key_file_of(lock: Lock) -> Path:
    """Where the key file of ``lock`` is looked for: where the environment says, else where it lay when it was chosen."""
    return Path(os.environ.get(KEY_FILE) or lock.key_file or "")


def _key_file_bytes(lock: Lock) -> bytes:
    file = key_file_of(lock)
    named = bool(os.environ.get(KEY_FILE))
    looked = (
        f"there it was looked for because {KEY_FILE} says so"
        if named
        else "there it lay when it was chosen"
    )
    what_to_do = (
        f"Bring it back, or name its place in {KEY_FILE}."
        if not named
        else f"Bring it back, or put its place into {KEY_FILE}; without that it is looked for in {lock.key_file}."
    )
    try:
        return file.read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        raise LockedError(
            f"The legs are protected by a key file, and there is no file {file.absolute()}: {looked}. {what_to_do}"
        ) from None
    except OSError as error:
        raise LockedError(
            f"The legs are protected by a key file, and {file} cannot be read: {cause(error)}. {what_to_do}"
        ) from error


OPENED = Opened()
"""Of this program. A key is opened before a leg begins, and never asked for in it."""


def keys_of(folders: Iterable[Path]) -> tuple[DataKey, ...]:
    """The data keys that a protected leg with these folders may have, the newest first. Raises LockedError.

    None where its lock is lost; a leg that has lost its own may be one of this machine.
    """
    lock = _first_lock([*(folder / NAME for folder in folders), *own_files()])
    return () if lock is None else OPENED.keys(lock)


def prepare() -> None:
    """Open before a leg what the leg will need; raises LockedError where it cannot be opened."""
    if (lock := lock_of_new_legs()) is not None:
        OPENED.key(lock)
