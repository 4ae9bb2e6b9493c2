"""Lines that came apart: each an emergency until its steps and a call were told.

The steps are common practice, no source: clamp on the patient's side, cover the open end, clean
where it came apart, change or reconnect the line, and call. Local protocol comes first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from voice.entries.kinds.drain import DrainClamped, DrainOpened
from voice.entries.kinds.drain_care import DisconnectionStep, LineDisconnected
from voice.entries.kinds.leg import UnitCalled
from voice.figures.drain import turns
from voice.figures.facts import Fact, facts

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from voice.entries.leg import LegEntry

STEPS = ("line clamped", "end covered", "site cleaned", "line changed or reconnected", "call")
"""What has to be told, in the order in which it is usually done."""

WHO_CAN_HELP = frozenset({"neurosurgeon", "physician", "accepting unit", "sending unit"})
"""Whom a call must have reached to count; no word to the family or to dispatch does."""


@dataclass(frozen=True, slots=True)
class Disconnection:
    """One line that came apart, and what was done about it."""

    at: datetime
    number: int
    """Of the entry that told it."""
    confirmed: bool
    done: tuple[tuple[str, Fact[Any]], ...]
    """Each of `STEPS` that was told since, with when it was first done, in the order of doing."""

    @property
    def missing(self) -> tuple[str, ...]:
        """Each of `STEPS` that was not told yet."""
        done = dict(self.done)
        return tuple(step for step in STEPS if step not in done)

    @property
    def ended_at(self) -> datetime | None:
        """When the last of its steps was told to have been done; ``None`` while one is missing."""
        return None if self.missing else max(fact.at for _, fact in self.done)


def disconnections(entries: Iterable[LegEntry]) -> tuple[Disconnection, ...]:
    """All of them, in the order in which they happened.

    Telling it again before the line was changed or reconnected is the same one told twice. A drain
    that stands clamped when its line comes apart needs no clamping.
    """
    entries = list(entries)
    kinds = (LineDisconnected, DisconnectionStep, UnitCalled)
    told: list[Fact[Any]] = [fact for kind in kinds for fact in facts(entries, kind)]
    told += turns(entries)
    clamped: Fact[Any] | None = None
    found: list[tuple[Fact[Any], dict[str, Fact[Any]]]] = []
    for fact in sorted(told, key=lambda fact: (fact.at, fact.number)):
        if isinstance(fact.told, LineDisconnected):
            if not found or "line changed or reconnected" in found[-1][1]:
                found.append((fact, {"line clamped": clamped} if clamped else {}))
        elif isinstance(fact.told, DrainOpened):
            clamped = None
        elif step := _step(fact.told):
            if step == "line clamped":
                clamped = fact
            if found:
                found[-1][1].setdefault(step, fact)
    return tuple(
        Disconnection(fact.at, fact.number, fact.confirmed, tuple(done.items()))
        for fact, done in found
    )


def _step(told: object) -> str | None:
    match told:
        case DrainClamped():
            return "line clamped"
        case DisconnectionStep(step="line changed" | "line reconnected"):
            return "line changed or reconnected"
        case DisconnectionStep(step=step):
            return step
        case UnitCalled(whom=whom) if whom in WHO_CAN_HELP:
            return "call"
        case _:
            return None
