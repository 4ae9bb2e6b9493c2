"""The random key under which legs lie encrypted, and what it locks: journals, sounds, and the data keys before it.

AES-256-GCM, each time with a random nonce (NIST SP 800-38D), under keys that come from the data key by HKDF-SHA256
(RFC 5869); for SQLCipher (`voice.record.cipher_db`) as well. What locks the data key itself is `voice.record.protection`'s.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from typing import Annotated

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from pydantic import Field

from voice.entries.frozen import Frozen

KEY_BYTES, NONCE_BYTES = 32, 12
_SOUND = b"LEGBOOK SOUND 1\n"
"""Before a locked sound; no FLAC file begins so."""

KeyId = Annotated[str, Field(pattern=r"^[0-9a-f]{16}$")]
"""Tells data keys apart, and nothing else of them."""
Nonce = Annotated[str, Field(pattern=r"^[0-9a-f]{24}$")]
LockedKey = Annotated[str, Field(pattern=r"^[0-9a-f]{96}$")]
"""A data key and the tag of AES-GCM, in hexadecimal."""


class EarlierKey(Frozen):
    """A data key of before, locked with the one that came in its place."""

    key_id: KeyId
    nonce: Nonce
    locked: LockedKey


@dataclass(frozen=True)
class DataKey:
    """An open data key."""

    secret: bytes = field(repr=False)

    @property
    def id(self) -> str:
        """See `KeyId`."""
        return self._derived(b"id").hex()[:16]

    @property
    def journal(self) -> bytes:
        """The key of journal files."""
        return self._derived(b"journal")

    def lock_sound(self, name: str, content: bytes) -> bytes:
        """A sound as it lies on the disk."""
        nonce = secrets.token_bytes(NONCE_BYTES)
        return (
            _SOUND + nonce + AESGCM(self._derived(b"sound")).encrypt(nonce, content, name.encode())
        )

    def open_sound(self, name: str, content: bytes) -> bytes | None:
        """A sound as it was kept; ``None`` where what lies on the disk was changed, or is another's."""
        nonce, locked = content[len(_SOUND) :][:NONCE_BYTES], content[len(_SOUND) + NONCE_BYTES :]
        try:
            return AESGCM(self._derived(b"sound")).decrypt(nonce, locked, name.encode())
        except (InvalidTag, ValueError):
            return None

    def lock_key(self, earlier: DataKey) -> EarlierKey:
        """Another data key, to be kept beside this one."""
        nonce = secrets.token_bytes(NONCE_BYTES)
        locked = AESGCM(self._derived(b"earlier")).encrypt(
            nonce, earlier.secret, earlier.id.encode()
        )
        return EarlierKey(key_id=earlier.id, nonce=nonce.hex(), locked=locked.hex())

    def open_key(self, earlier: EarlierKey) -> DataKey | None:
        """A data key of before; ``None`` where it was changed."""
        nonce, locked = bytes.fromhex(earlier.nonce), bytes.fromhex(earlier.locked)
        try:
            key = AESGCM(self._derived(b"earlier")).decrypt(nonce, locked, earlier.key_id.encode())
        except InvalidTag:
            return None
        return DataKey(key)

    def _derived(self, what: bytes) -> bytes:
        return HKDF(SHA256(), KEY_BYTES, None, b"legbook " + what).derive(self.secret)


def is_locked_sound(content: bytes) -> bool:
    """Whether these are the bytes of a protected sound."""
    return content.startswith(_SOUND)
