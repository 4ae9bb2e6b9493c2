"""What is done at the reviewer's desk, after the leg: each act an event with who and why.

They stand in the same chain as what was said (docs/decisions/0014-the-desk-writes-on.md). Like a
word of the nurse, an act of the desk changes nothing in place.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from voice.entries.review import Line, Reviewer, Text
from voice.record.event_base import EventBase, Instant, PutDown

MISHEARD = "misheard"
"""Why an entry is corrected: the program heard it wrongly."""
MISSED = "was missed"
"""Why an entry is added: it was said, and nothing came of it."""

AGAIN = "withdrawn by mistake"
"""Why an entry is added: it stood there before, so that nothing was missed."""


class _DeskAct(EventBase):
    by: Reviewer


class DeskEntry(PutDown, _DeskAct):
    """An entry was put down at the desk: in place of another, or one that was missed."""

    event: Literal["desk_entry"] = "desk_entry"
    how: Literal["alternative", "typed", "time"]
    """Another thing that was heard; typed; or only the time is another."""
    why: Line


class DeskApproved(_DeskAct):
    """The reviewer found an entry right as it stands."""

    event: Literal["desk_approved"] = "desk_approved"
    number: int
    why: Line


class DeskWithdrawn(_DeskAct):
    """The reviewer took an entry away; if it corrected another, that one stands again."""

    event: Literal["desk_withdrawn"] = "desk_withdrawn"
    number: int
    why: Line


class Commented(_DeskAct):
    """A remark, which changes no entry."""

    event: Literal["commented"] = "commented"
    number: int | None = None
    """The entry that it is about; ``None`` for the leg."""
    text: Text


class WrittenDown(_DeskAct):
    """What a spoken note says, in writing; the last one counts."""

    event: Literal["written_down"] = "written_down"
    number: int
    text: Text


class DeskEnded(_DeskAct):
    """A leg of which nobody said "end leg" was over at that moment; the last such act counts."""

    event: Literal["desk_ended"] = "desk_ended"
    ended_at: Instant
    why: Line


class ListenedTo(_DeskAct):
    """A sound was played at the desk."""

    event: Literal["listened_to"] = "listened_to"
    clip: str


class SignedOff(_DeskAct):
    """A reviewer stands for the leg as it is now."""

    event: Literal["signed_off"] = "signed_off"
    sounds: int = Field(ge=0)
    listened_to: int = Field(ge=0)
    may_teach: bool = False
    """See `voice.entries.review.SignOff`."""


DeskEvent = (
    DeskEntry
    | DeskApproved
    | DeskWithdrawn
    | Commented
    | WrittenDown
    | DeskEnded
    | ListenedTo
    | SignedOff
)
"""Any act of the desk."""
