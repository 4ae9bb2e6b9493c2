"""Episodes of the patient: from when something began until it was over."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from voice.entries.kinds.patient import PatientEvent
from voice.figures.facts import facts

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from voice.entries.leg import LegEntry

Lasting = Literal["seizure", "agitation"]

ENDS: dict[str, Lasting] = {"seizure over": "seizure", "settled": "agitation"}
"""Which event ends what."""


@dataclass(frozen=True, slots=True)
class Episode:
    """A time for which something lasted."""

    what: Lasting
    start_at: datetime | None
    """``None`` where only its end was told."""
    end_at: datetime | None
    """``None`` where its end was not told."""
    confirmed: bool
    """Whether all that was told of it was confirmed aloud."""


def episodes(entries: Iterable[LegEntry]) -> tuple[Episode, ...]:
    """All episodes, in the order in which they began.

    What is told to begin while it lasts begins no second episode.
    """
    found: list[Episode] = []
    lasting: dict[Lasting, int] = {}
    for fact in facts(entries, PatientEvent):
        event = fact.told.event
        if event in {"seizure", "agitation"} and event not in lasting:
            lasting[event] = len(found)
            found.append(Episode(event, fact.at, None, fact.confirmed))
        elif ended := ENDS.get(event):
            if ended in lasting:
                at = lasting.pop(ended)
                confirmed = found[at].confirmed and fact.confirmed
                found[at] = replace(found[at], end_at=fact.at, confirmed=confirmed)
            else:
                found.append(Episode(ended, None, fact.at, fact.confirmed))
    return tuple(found)
