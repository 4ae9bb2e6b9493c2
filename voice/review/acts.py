"""What a reviewer can do, as the page asks for it, and what is answered.

An act names what the reviewer saw: how far the leg had come, and what the page said that would
become of it. What has become otherwise meanwhile is refused, and told.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, TypeAdapter

from voice.entries.frozen import Frozen
from voice.entries.review import Line, Reviewer, Text
from voice.record.desk_events import AGAIN, MISHEARD, MISSED
from voice.review.ending import NOT_SAID
from voice.review.rows import Counter, Gap, Remark, Row, Signature, ToldEnd, ToldNotice

REASONS = {
    "approve": ("listened to, and right",),
    "alternative": (MISHEARD, "said wrongly"),
    "type": (MISHEARD, "said wrongly", "read back wrongly", "local rule"),
    "time": ("the time was wrong", "told late"),
    "add": (MISSED, "told after the leg", AGAIN),
    "withdraw": ("did not happen", "said twice", "not for legbook"),
    "end": (NOT_SAID, "told wrongly before"),
}
"""Reasons that are offered for an act; the first is taken where none is given. The page puts
the last of "add" first where a withdrawn entry is looked at."""


class _Act(Frozen):
    head: int = Field(ge=0)
    """Number of the last event that the page knew when the reviewer decided."""


class _ReasonedAct(_Act):
    why: Line | None = None


class Approve(_ReasonedAct):
    """The entry is right as it stands."""

    act: Literal["approve"]
    number: int


class TakeAlternative(_ReasonedAct):
    """Another thing that was heard is right."""

    act: Literal["alternative"]
    number: int
    text: str
    """What was heard, as the page listed it."""
    becomes: str
    """The entry that the page said it is."""


class TypeValue(_ReasonedAct):
    """The entry is to be as typed."""

    act: Literal["type"]
    number: int
    text: str
    becomes: str | None = None
    """The entry that the page said it becomes, where it had said so already."""


class ChangeTime(_ReasonedAct):
    """It happened at another time."""

    act: Literal["time"]
    number: int
    time: str


class AddEntry(_ReasonedAct):
    """An entry was missed."""

    act: Literal["add"]
    text: str
    becomes: str | None = None
    """As in `TypeValue`."""
    time: str | None = None
    clip: str | None = None
    """The sound in which it is said."""


class WithdrawEntry(_ReasonedAct):
    """The entry is to go."""

    act: Literal["withdraw"]
    number: int


class WriteComment(_Act):
    """A remark about an entry, or about the leg."""

    act: Literal["comment"]
    number: int | None = None
    text: Text


class WriteDown(_Act):
    """What a spoken note says."""

    act: Literal["write_down"]
    number: int
    text: Text


class Listen(_Act):
    """A sound was played."""

    act: Literal["listened"]
    clip: str


class EndLeg(_ReasonedAct):
    """The leg, of which nobody said "end leg", was over at that time."""

    act: Literal["end"]
    time: str


class SignOffLeg(_Act):
    """The reviewer stands for the leg as it is."""

    act: Literal["sign_off"]
    may_teach: bool = False


Act = Annotated[
    Approve
    | TakeAlternative
    | TypeValue
    | ChangeTime
    | AddEntry
    | WithdrawEntry
    | WriteComment
    | WriteDown
    | Listen
    | EndLeg
    | SignOffLeg,
    Field(discriminator="act"),
]
"""Anything that can be done; the field ``act`` tells which."""

ACT: TypeAdapter[Act] = TypeAdapter(Act)


class Asked(Frozen):
    """An act as a page sends it."""

    by: Reviewer
    """Who stands at the head of the page: another page of the same browser may be another person's."""
    act: Act


class Changes(Frozen):
    """What is otherwise than the page knew."""

    head: int
    rows: tuple[Row, ...]
    gaps: tuple[Gap, ...]
    gap_ids: tuple[int, ...]
    """Of all gaps there are: of a leg that goes on an entry may yet come of one."""
    end: ToldEnd
    notices: tuple[ToldNotice, ...]
    comments: tuple[Remark, ...]
    counter: Counter
    sign_off: Signature | None
    sign_offs: tuple[Signature, ...]


class Done(Changes):
    """An act was written; ``said`` tells it in one sentence."""

    said: str
