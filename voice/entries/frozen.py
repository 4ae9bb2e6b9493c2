"""The base of the types that are written down."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Frozen(BaseModel):
    """Checked when it is made, never changed afterwards; a field that nobody knows is refused."""

    model_config = ConfigDict(frozen=True, extra="forbid")
