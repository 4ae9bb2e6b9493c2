"""What a row of the table is: a state, what it says, and the times over which it held."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from datetime import datetime

    from voice.entries.leg import Leg


class Moment(StrEnum):
    """When a sentence is said."""

    AT_ONCE = "at once"
    """With the entry that brings the state about, before that is read back."""
    NEXT_ENTRY = "at the next entry"
    """If the first thing kept after it, in another breath, does not end the state."""
    EACH_ENTRY = "at each entry"
    """With every entry that is kept while the state holds, the one that starts it included."""


@dataclass(frozen=True, slots=True)
class Spell:
    """One time over which a state held."""

    since: datetime
    until: datetime | None = None
    """``None`` while it holds."""
    number: int | None = None
    """The entry that it is about; ``None`` where it is about none."""
    values: Mapping[str, str] = field(default_factory=dict)
    """What the sentences of its row have to be filled with."""
    marked: tuple[int, ...] = ()
    """The entries that bear its mark."""

    def holds(self, now: datetime) -> bool:
        """Whether it has begun and has not ended."""
        return self.since <= now and (self.until is None or now < self.until)


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of the table.

    Its sentences stand in brackets of the kind ``{limit}`` for what a spell's ``values`` hold, and
    ``{since}`` for when it began. A number is written in figures: who speaks it does so digit by
    digit. Where a sentence is empty, nothing is said, listed or marked.
    """

    name: str
    spells: Callable[[Leg], Iterable[Spell]]
    starts: str
    """In words, as `ends` and `overruled` are: the drawn table shows them."""
    ends: str
    overruled: str
    """Who may overrule it, and how."""
    says: str = ""
    """What is said aloud, without ``{since}``."""
    at: Moment | None = None
    says_over: str = ""
    """What is said in its place where the state is over by the time at which it becomes known."""
    open: str = ""
    """How it is listed while it holds."""
    mark: str = ""
    """What is marked on the entries that it touches."""
    asks: bool = False
    """Whether a person has to settle what is marked."""


@dataclass(frozen=True, slots=True)
class Remark:
    """Something that has to be said aloud, once: two that are equal are the same remark."""

    rule: str
    since: datetime
    """When the state began."""
    text: str
    """A short sentence. Numbers and units are written in figures; see ``voice.meaning.aloud``."""


@dataclass(frozen=True, slots=True)
class Sentence:
    """A state that is open, or the reason for which an entry is marked."""

    rule: str
    since: datetime
    """When the state began."""
    number: int | None
    """The entry that the state is about."""
    template: str
    values: Mapping[str, str]

    def text(self, clock: Callable[[datetime], str]) -> str:
        """In words, the moment written or spoken as ``clock`` does it."""
        return self.template.format(since=clock(self.since), **self.values)
