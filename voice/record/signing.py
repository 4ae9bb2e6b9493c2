"""Signing a leg when it is sealed: keys, their files, and what a signature proves.

A signature is Ed25519 (RFC 8032, by the package ``cryptography``) over five lines: what it is, the leg's id, how
many events it closes and the hash of the last, whose key it is, and when. The hash covers every event
before it, and the events hold the hash of every sound: so the signature stands for all of the leg. It
lies in the event that seals, so a copy of the leg's folder carries it, and no crash comes between the two.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC
from hashlib import sha256
from typing import TYPE_CHECKING

from cryptography.exceptions import InternalError, InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from pydantic import TypeAdapter, ValidationError

from voice.entries.errors import LegbookError
from voice.entries.review import Line
from voice.entries.seal import Signature
from voice.record.durable import make_file, make_folder
from voice.record.errors import cause

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from voice.entries.seal import Seal
    from voice.record.chain import Head

_FINGERPRINT = 16
_PUBLIC = re.compile(r"[0-9a-f]{64}")
_CHECK = "Check: "
_HEAD = re.compile(
    rf"Owner: (?P<owner>(?:(?!{_CHECK})[^\n])*)\n"
    rf"(?:{_CHECK}(?P<check>[0-9a-f]{{64}})\r?\n)?(?=-----BEGIN )".encode()
)
"""What stands in a key file before the key, as RFC 7468 lets it. Files of before have no check."""
_NAME: TypeAdapter[str] = TypeAdapter(Line)


class KeyFileError(LegbookError):
    """A key cannot be made, read or used."""


class KeyLockedError(KeyFileError):
    """The key file has a passphrase, and it was not given, or not the right one."""


def fingerprint(key: str) -> str:
    """A public key (in hexadecimal) in few letters, to be compared by voice: "3f2a 91bc 04d7 e6a8"."""
    digest = sha256(bytes.fromhex(key)).hexdigest()[:_FINGERPRINT]
    return " ".join(digest[n : n + 4] for n in range(0, _FINGERPRINT, 4))


@dataclass(frozen=True)
class SigningKey:
    """A private key and whose it is."""

    owner: str
    private: Ed25519PrivateKey

    @property
    def public(self) -> str:
        """The public key in hexadecimal: for whoever is to check what it signs."""
        return self.private.public_key().public_bytes_raw().hex()

    def sign(self, leg_id: str, head: Head, at: datetime) -> Signature:
        """Sign the leg as it stands at ``head``; ``at`` is aware."""
        value = self.private.sign(_message(leg_id, head, self.owner, at))
        return Signature(by=self.owner, key=self.public, value=value.hex())


def _message(leg_id: str, head: Head, owner: str, at: datetime) -> bytes:
    """What is signed; no part of it can hold a line feed."""
    when = at.astimezone(UTC).isoformat()
    return "\n".join(("legbook seal", leg_id, f"{head.number} {head.hash}", owner, when)).encode()


def holds(signature: Signature, leg_id: str, head: Head, at: datetime) -> bool:
    """Whether the signature is that of its key over this leg, sealed at ``head`` and at that moment (aware)."""
    message = _message(leg_id, head, signature.by, at)
    try:
        public = Ed25519PublicKey.from_public_bytes(bytes.fromhex(signature.key))
        public.verify(bytes.fromhex(signature.value), message)
    except (InvalidSignature, ValueError):
        return False
    return True


def contradiction(key: str, seal: Seal | None) -> str | None:
    """What speaks against the leg having been sealed with ``key``, in a whole sentence; else ``None``.

    That a signature holds is checked wherever a leg is read.
    """
    if seal is None:
        return "It is not sealed, so nobody has signed it: it never was, or its end was cut off."
    if seal.signature is None:
        return "It was sealed without a signature, or the signature was taken out."
    if seal.signature.key != key:
        return (
            f"It was signed with another key, {fingerprint(seal.signature.key)}, "
            f"and not with {fingerprint(key)}."
        )
    return None


def make_key(path: Path, owner: str, passphrase: str | None = None) -> SigningKey:
    """Make a key and keep it in ``path``, for its owner alone, locked with ``passphrase`` if there is one.

    Raises:
        KeyFileError: where the name cannot be taken, or the file is there already or cannot be written.
    """
    try:
        name = _NAME.validate_python(owner)
    except ValidationError:
        name = ""
    if not name or _CHECK in name:
        raise KeyFileError(
            f'"{owner}" cannot be the owner of a key: take one line that can be printed.'
        )
    key = SigningKey(name, Ed25519PrivateKey.generate())
    lock = BestAvailableEncryption(passphrase.encode()) if passphrase else NoEncryption()
    pem = key.private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, lock)
    try:
        make_folder(path.parent)
        make_file(path, f"Owner: {name}\n{_CHECK}{_check(key)}\n".encode() + pem)
    except OSError as error:
        if path.exists():
            raise KeyFileError(
                f"There is a key in {path} already. Keep it: what it signed is checked by it. "
                "Name another file for another key."
            ) from None
        raise KeyFileError(f"The key cannot be kept in {path}: {cause(error)}.") from error
    return key


def _check(key: SigningKey) -> str:
    """By which damage to a key file shows: a key has no checksum, and with another bit it is another key."""
    return sha256(f"{key.owner}\n{key.public}".encode()).hexdigest()


def read_key(path: Path, passphrase: str | None = None) -> SigningKey:
    """The key that `make_key` kept.

    Raises:
        KeyLockedError: where it needs a passphrase, or another one.
        KeyFileError: where there is none, or it cannot be read.
    """
    try:
        content = path.read_bytes()
    except FileNotFoundError as error:
        raise KeyFileError(
            f"There is no key in {path} yet. Make one with: legbook key make OWNER"
        ) from error
    except OSError as error:
        raise KeyFileError(f"The key in {path} cannot be read: {cause(error)}.") from error
    damaged = KeyFileError(f"{path} is no key file of legbook, or is damaged. Put its copy there.")
    head = _HEAD.match(content)
    if head is None:
        raise damaged
    pem = content[head.end() :]
    locked = b"ENCRYPTED" in pem
    if locked and not passphrase:
        raise KeyLockedError(f"The key in {path} has a passphrase.")
    try:
        owner = _NAME.validate_python(head["owner"].decode())
        private = load_pem_private_key(pem, passphrase.encode() if locked and passphrase else None)
    except (ValueError, TypeError, UnsupportedAlgorithm, InternalError) as error:
        if locked:
            raise KeyLockedError(
                f"That is not the passphrase of the key in {path}, or the file is damaged."
            ) from error
        raise damaged from error
    if not isinstance(private, Ed25519PrivateKey):
        raise KeyFileError(f"{path} holds a key of another kind: legbook signs with Ed25519.")
    key = SigningKey(owner, private)
    if head["check"] is not None and head["check"].decode() != _check(key):
        raise damaged
    return key


def public_key(given: str) -> str:
    """The public key that a person gave, in hexadecimal; spaces and capitals do not count.

    Raises:
        KeyFileError: where it is none.
    """
    key = re.sub(r"\s", "", given).lower()
    if not _PUBLIC.fullmatch(key):
        raise KeyFileError(
            f'"{given}" is no public key: it is 64 letters and digits, as "legbook key show" prints them.'
        )
    return key
