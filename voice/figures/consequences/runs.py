"""What the rules have in common: entries in the order of their times, and runs of them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from datetime import datetime

    from pydantic import BaseModel

    from voice.entries.leg import Leg, LegEntry


def counting(leg: Leg, *kinds: type[BaseModel]) -> list[LegEntry]:
    """The entries of these kinds that count, by the time at which they happened."""
    found = (e for e in leg.entries if isinstance(e.entry, kinds) and e.counts)
    return sorted(found, key=lambda e: (e.happened_at, e.number))


def first_at(leg: Leg, *kinds: type[BaseModel]) -> datetime | None:
    """When the first entry of these kinds happened; ``None`` where there is none."""
    return min((one.happened_at for one in counting(leg, *kinds)), default=None)


@dataclass(slots=True)
class Run:
    """From an entry that starts something to the one that ends it."""

    start: LegEntry
    within: list[LegEntry] = field(default_factory=list)
    """The others until then."""
    end: LegEntry | None = None

    @property
    def since(self) -> datetime:
        """When it started."""
        return self.start.happened_at

    @property
    def until(self) -> datetime | None:
        """When it ended; ``None`` where it has not."""
        return None if self.end is None else self.end.happened_at


def runs(
    entries: Iterable[LegEntry],
    starts: Callable[[LegEntry], bool],
    ends: Callable[[LegEntry], bool],
) -> Iterator[Run]:
    """The runs among entries in order; what starts one while another is on belongs to that."""
    run = None
    for one in entries:
        if run is None:
            run = Run(one) if starts(one) else None
        elif ends(one):
            run.end = one
            yield run
            run = None
        else:
            run.within.append(one)
    if run is not None:
        yield run


def of(*kinds: type[BaseModel]) -> Callable[[LegEntry], bool]:
    """Whether an entry is of one of these kinds."""
    return lambda one: isinstance(one.entry, kinds)
