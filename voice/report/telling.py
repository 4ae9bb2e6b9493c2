"""What every section of the summary is written with: a leg, its clock, and lines of entries."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Protocol

from voice.entries.leg import EntryState
from voice.figures.consequences import marks
from voice.figures.rounding import beside
from voice.report.wording import entry_text, label, number, value

if TYPE_CHECKING:
    from datetime import datetime

    from pydantic import BaseModel

    from voice.entries.leg import Leg, LegEntry


CAUTION = (
    "legbook records and reminds; it never orders care: local protocol, the written order and "
    "licensed judgement come first."
)
"""Stands on everything that is handed over."""

_GIVEN = {EntryState.CONFIRMED, EntryState.UNCONFIRMED}
"""What a voice left on the leg; where such an entry is in doubt, that is told."""

HALF_A_DAY = timedelta(hours=12)
"""A leg that is shorter has each time of day once, also with what is told to have happened before it: that is
as long before it at most (`voice.record.times`)."""

UNTOLD = "Nothing told."
"""Stands where a section that is looked for has nothing."""


class Telling:
    """A leg that is being told. A section is a function that takes it and gives paragraphs."""

    def __init__(self, leg: Leg, until: datetime, *, dated: bool = True) -> None:
        """``until`` (aware) is the moment up to which what has not ended counts.

        ``dated``: the date stands with a moment of the leg behind midnight also where no other can be meant.
        """
        self.leg = leg
        self.until = until
        self._tells_apart = not dated and until - leg.started_at < HALF_A_DAY
        self.marks = marks(leg)

    @property
    def breaks_off(self) -> bool:
        """Whether it has no end, and what goes on counts up to the last that is known of it."""
        return self.leg.ended_at is None and self.until == self.leg.known_until

    @property
    def goes_on(self) -> bool:
        """Whether it is under way, and what goes on counts up to now."""
        return self.leg.ended_at is None and not self.breaks_off

    def counting(self, *of: type[BaseModel]) -> list[LegEntry]:
        """The entries of these kinds that count, by the time at which they happened."""
        return [e for e in self.leg.counting() if isinstance(e.entry, of)]

    def in_order(self, *of: type[BaseModel]) -> list[str]:
        """A line an entry of these kinds."""
        return [self.line(e) for e in self.counting(*of)]

    def line(self, e: LegEntry) -> str:
        """One entry, when it happened first."""
        return f"{self.time(e.happened_at)} {entry_text(e.entry)}{doubt(e)}{self.marked(e)}."

    def series(self, *of: type[BaseModel]) -> list[str]:
        """A line for each thing that was measured, with all its values in order."""
        lines: dict[str, list[str]] = {}
        for e in self.counting(*of):
            told = f"{value(e.entry)} at {self.time(e.happened_at)}{doubt(e)}{self.marked(e)}"
            lines.setdefault(label(e.entry), []).append(told)
        return [f"{about}: {'; '.join(values)}." for about, values in lines.items()]

    def last(self, of: type[BaseModel], untold: str) -> str:
        """The latest entry of a kind; where there is none, ``untold``."""
        return next(iter(self.if_told(of)), untold)

    def if_told(self, *of: type[BaseModel]) -> list[str]:
        """The latest entry of these kinds; no line where there is none."""
        return [
            f"{entry_text(e.entry)}, {self.time(e.happened_at)}{doubt(e)}{self.marked(e)}."
            for e in self.counting(*of)[-1:]
        ]

    def marked(self, told: _Numbered) -> str:
        """Why an entry, or what it told, is marked (see ``voice.figures.consequences``)."""
        reasons = [one.text(self.time) for one in self.marks.get(told.number, ())]
        return f" ({'; '.join(reasons)})" if reasons else ""

    def is_marked(self, told: _Numbered, rule: str) -> bool:
        """Whether it bears the mark of this rule."""
        return any(one.rule == rule for one in self.marks.get(told.number, ()))

    def time(self, at: datetime) -> str:
        """By the leg's clock, with the date on any other day than that of its start."""
        local = self.leg.local(at)
        same_day = local.date() == self.leg.local(self.leg.started_at).date()
        same_day |= self._tells_apart and self.leg.started_at <= at <= self.until
        return f"{local:%H:%M}" if same_day else f"{local.day} {local:%B %H:%M}"

    def day_and_time(self, at: datetime) -> str:
        """With the date wherever the leg, or the moment itself, lies on more than one day."""
        start, end = self.leg.local(self.leg.started_at), self.leg.local(self.until)
        local = self.leg.local(at)
        if start.date() == end.date() == local.date():
            return f"{local:%H:%M}"
        return f"{local.day} {local:%B %H:%M}"

    def row(self, e: LegEntry) -> str:
        """One entry with its number, its times and its state."""
        said = "" if e.spoken_at == e.happened_at else f", said {self.time(e.spoken_at)}"
        corrects = f", corrects {e.replaces}" if e.replaces else ""
        state = f", {e.state}" if e.in_doubt or e.state not in _GIVEN else ""
        by = f" by {e.replaced_by}" if e.replaced_by else ""
        desk = f" ({e.desk.act} at the desk by {e.desk.by}: {e.desk.why})" if e.desk else ""
        told = f"{self.time(e.happened_at)} {entry_text(e.entry)}"
        return f"{e.number}: {told}{said}{corrects}{state}{by}{desk}."


def damage(leg: Leg) -> list[str]:
    """That the journal is damaged, and what is wrong with it; no line where it is not."""
    found = " ".join(leg.damage)
    return [f"The journal is NOT as it was written: {found}"] if found else []


class _Told(Protocol):
    @property
    def confirmed(self) -> bool: ...


class _Numbered(Protocol):
    @property
    def number(self) -> int: ...


def doubt(told: _Told) -> str:
    """The mark of what was never confirmed aloud."""
    return "" if told.confirmed else " (unconfirmed)"


def whole(told: float, *limits: float) -> str:
    """A number without decimals, but with as many as keep it on its side of ``limits``."""
    return number(beside(told, 0, limits))


def tenths(told: float, *limits: float) -> str:
    """A number rounded to tenths, but to more where that would bring it past one of ``limits``."""
    return number(beside(told, 1, limits))


def ml(volume_ml: float, *limits_ml: float) -> str:
    """A volume as `tenths` has it, with its unit."""
    return f"{tenths(volume_ml, *limits_ml)} mL"
