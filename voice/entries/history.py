"""What became of an entry, when and by whom: what a leg as it stands no longer tells."""

from __future__ import annotations

from typing import Literal

from pydantic import AwareDatetime, Field

from voice.entries.frozen import Frozen
from voice.entries.review import Reviewer

Became = Literal["kept", "confirmed", "approved", "corrected", "withdrawn", "restored"]


class EntryTurn(Frozen):
    """One thing that became of one entry."""

    number: int = Field(ge=1)
    became: Became
    """``"confirmed"`` aloud, ``"approved"`` at the desk; ``"restored"``: it stands again, since the
    entry that had corrected it was withdrawn."""
    at: AwareDatetime
    by: Reviewer | None = None
    """Who did it at the reviewer's desk; ``None``: the nurse, by voice."""
    why: str | None = None
    """In the words of whoever did it; ``None`` where no reason was told."""
    other: int | None = None
    """The entry by which it was corrected, or whose withdrawal restored it."""
