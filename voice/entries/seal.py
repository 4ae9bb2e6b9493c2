"""That a leg was closed for good, and who signed it."""

from __future__ import annotations

from pydantic import AwareDatetime, Field

from voice.entries.frozen import Frozen
from voice.entries.review import Line


class Signature(Frozen):
    """An Ed25519 signature (RFC 8032) over a leg as it was when it was sealed."""

    by: Line
    """Whose key it is, as the owner of the key says; only the key itself is proof."""
    key: str = Field(pattern=r"^[0-9a-f]{64}$")
    """The public key in hexadecimal."""
    value: str = Field(pattern=r"^[0-9a-f]{128}$")
    """The signature in hexadecimal; what it is over, `voice.record.signing` tells."""


class Seal(Frozen):
    """A leg is sealed: nothing that was said or done can be added to it any more."""

    at: AwareDatetime
    events: int = Field(ge=1)
    """How many events it closes."""
    head: str = Field(pattern=r"^[0-9a-f]{64}$")
    """The hash of the last of them."""
    signature: Signature | None = None
    """``None`` where it was sealed without a key."""
