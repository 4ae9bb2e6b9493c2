"""How much drained: the ledger of the chamber, in total and per clock hour.

The method, so that nothing counts twice and nothing is lost:

- The chamber's scale rises until it is emptied. Between two readings the rise is what drained; the
  first reading of the leg is where counting starts, unless the chamber was emptied before it.
- A drained volume said directly is what drained since the last reading, emptying or drained volume.
  It counts until the chamber is read again; then the chamber decides for the whole time since the
  reading before.
- Emptying sets the scale to zero and takes nothing off what has drained. The volume that was told
  with it is a reading just before it.
- A reading below the one before, with no emptying said, is a question; it is not counted.
- A first reading after drained volumes tells nothing of the time since the last of them: a question.
- What was flushed in is not output: it comes off what drained afterwards, never below zero. With
  no reading between a flush and an emptying, or before it, that may be too much: a question.
- What drained between two moments is spread evenly over the time between them to give hours.

Only the times at which things happened matter, not the order in which they were said.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta, timezone
from math import fsum
from typing import TYPE_CHECKING

from voice.entries.kinds.drain import ChamberEmptied, ChamberReading, Drained, Flushed
from voice.figures.facts import Fact, count_unconfirmed, facts
from voice.figures.once import once

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from voice.entries.leg import Leg, LegEntry

EMPTYING_S = 5 * 60.0
"""How long before its emptying, or its first reading, in seconds, the output must have been told for
nothing to be lost.

Common practice, no source: the chamber is read, then emptied.
"""

_HOUR = timedelta(hours=1)
Told = Drained | ChamberReading | ChamberEmptied | Flushed


@dataclass(frozen=True, slots=True)
class Increment:
    """What drained between two moments."""

    start_at: datetime
    end_at: datetime
    volume_ml: float

    def by_hour(self, zone: timezone) -> Iterator[tuple[datetime, float]]:
        """Its share of each clock hour that it touches, as (start of the hour, mL)."""
        return self.by_hour_from(_clock_hour(self.start_at, zone))

    def by_hour_from(self, counted_from: datetime) -> Iterator[tuple[datetime, float]]:
        """Its share of each hour that it touches, as (start of the hour, mL).

        Hours begin at ``counted_from`` (aware), and every hour before and after it.
        """
        length = self.end_at - self.start_at
        first = self.start_at if length else self.end_at
        hour = counted_from + (first - counted_from) // _HOUR * _HOUR
        if not length:
            yield hour, self.volume_ml
            return
        while hour < self.end_at:
            inside = min(self.end_at, hour + _HOUR) - max(self.start_at, hour)
            yield hour, self.volume_ml * (inside / length)
            hour += _HOUR


@dataclass(frozen=True, slots=True)
class Question:
    """Something about the output that only a person can settle."""

    number: int
    """Of the entry that raises it."""
    at: datetime
    text: str
    """A whole sentence that says also what was done with it."""


@dataclass(frozen=True, slots=True)
class OutputFigures:
    """What is told of the output."""

    total_ml: float
    by_hour: tuple[tuple[datetime, float], ...]
    """Start of each clock hour on the leg's clock, and what drained in it; they sum to the total.

    Hours over which nothing was read are not there: what drained in them is not known.
    """
    increments: tuple[Increment, ...]
    """What drained from one moment to the next, flushes taken off; they sum to the total."""
    up_to: datetime | None
    """The last moment that the total covers; ``None`` where nothing was told."""
    starting: Fact[ChamberReading] | None
    """The first reading, where counting starts; ``None`` where the chamber was emptied before."""
    flushes: int
    """How often something was flushed in."""
    flushed_ml: float
    """All that was flushed in."""
    flush_left_ml: float
    """How much of it has not come off the output yet."""
    questions: tuple[Question, ...]
    unconfirmed: int
    """How many of the entries behind it were never confirmed aloud."""


def output(entries: Iterable[LegEntry], started_at: datetime, zone: timezone) -> OutputFigures:
    """The output of a leg that started at ``started_at`` and has its clock in ``zone``."""
    told = _told(entries)
    ledger = _Ledger(since=started_at)
    for fact in told:
        ledger.take(fact)
    flushes = [(f.at, f.told.volume_ml) for f in told if isinstance(f.told, Flushed)]
    increments, flush_left_ml = _without_flushes(ledger.increments(), flushes)
    return OutputFigures(
        total_ml=fsum(increment.volume_ml for increment in increments),
        by_hour=hourly(increments, _clock_hour(started_at, zone)),
        increments=tuple(increments),
        up_to=ledger.since if increments else None,
        starting=ledger.starting,
        flushes=len(flushes),
        flushed_ml=fsum(volume_ml for _, volume_ml in flushes),
        flush_left_ml=flush_left_ml,
        questions=tuple(ledger.questions),
        unconfirmed=count_unconfirmed(told),
    )


@once
def output_of(leg: Leg) -> OutputFigures:
    """The output of ``leg``, on its own clock; several reminders, sections and answers ask for it."""
    return output(leg.entries, leg.started_at, leg.settings.zone)


def hourly(
    increments: Iterable[Increment], counted_from: datetime
) -> tuple[tuple[datetime, float], ...]:
    """What drained in each hour from ``counted_from`` (aware) on, and in those before it.

    As (start of the hour, mL); hours over which nothing was read are not there.
    """
    hours: dict[datetime, list[float]] = {}
    for increment in increments:
        for hour, volume_ml in increment.by_hour_from(counted_from):
            hours.setdefault(hour, []).append(volume_ml)
    return tuple((hour, fsum(shares)) for hour, shares in sorted(hours.items()))


_AT_ONE_MOMENT: tuple[type[Told], ...] = (Flushed, Drained, ChamberReading, ChamberEmptied)
"""In which order things told for the same moment are taken to have happened."""


def _told(entries: Iterable[LegEntry]) -> list[Fact[Told]]:
    def order(fact: Fact[Told]) -> tuple[datetime, int, float]:
        volume_ml = fact.told.volume_ml
        untold_first = -1.0 if volume_ml is None else volume_ml
        return (fact.at, _AT_ONE_MOMENT.index(type(fact.told)), untold_first)

    entries = list(entries)
    found: list[Fact[Told]] = []
    for kind in _AT_ONE_MOMENT:
        found += facts(entries, kind)
    return sorted(found, key=order)


@dataclass
class _Ledger:
    since: datetime
    """When the output was last accounted for."""
    scale_ml: float | None = None
    """Where the chamber's scale was last known to stand."""
    scale_at: datetime | None = None
    starting: Fact[ChamberReading] | None = None
    questions: list[Question] = field(default_factory=list)
    _settled: list[Increment] = field(default_factory=list)
    _said: list[Increment] = field(default_factory=list)
    """Volumes said since the scale was last known: the next reading decides over them."""
    _flushes: list[Fact[Told]] = field(default_factory=list)
    """What was flushed in since the scale was last known."""

    def take(self, fact: Fact[Told]) -> None:
        match fact.told:
            case Drained(volume_ml=volume_ml):
                self._said.append(self._increment(fact.at, volume_ml))
                self.since = fact.at
            case ChamberReading(volume_ml=volume_ml):
                self._read(fact, volume_ml)
            case ChamberEmptied(volume_ml=volume_ml):
                if volume_ml is not None:
                    self._read(fact, volume_ml)
                elif (fact.at - self.since).total_seconds() > EMPTYING_S:
                    self._ask(
                        fact,
                        "The chamber was emptied with no reading just before: what had drained "
                        "since the last one is not counted.",
                    )
                self._ask_about_flushes()
                self._settle(fact.at, 0.0)
            case Flushed():
                self._flushes.append(fact)

    def _read(self, fact: Fact[Told], volume_ml: float) -> None:
        if self.scale_ml is None:
            if self._said and (fact.at - self.since).total_seconds() > EMPTYING_S:
                self._ask(
                    fact,
                    "The chamber was first read after a volume that was said: what drained between "
                    "the two is not counted.",
                )
            reading = ChamberReading(volume_ml=volume_ml)
            self.starting = Fact(fact.at, reading, fact.number, fact.confirmed)
            self._ask_about_flushes()
            self._settle(fact.at, volume_ml)
            return
        risen_ml = volume_ml - self.scale_ml
        if risen_ml < 0:
            self._ask(
                fact,
                f"The chamber at {volume_ml:g} mL is below the {self.scale_ml:g} mL before it, and "
                "no emptying was said: the lower reading is not counted.",
            )
            return
        said_ml = fsum(increment.volume_ml for increment in self._said)
        if said_ml > risen_ml:
            self._ask(
                fact,
                f"{said_ml:g} mL were said to have drained since the last reading, but the chamber "
                f"rose by {risen_ml:g} mL: {risen_ml:g} mL are counted.",
            )
            self._said = []
            self.since = self.scale_at or self.since
            said_ml = 0.0
        self._said.append(self._increment(fact.at, risen_ml - said_ml))
        self._settle(fact.at, volume_ml)

    def _increment(self, end_at: datetime, volume_ml: float) -> Increment:
        return Increment(min(self.since, end_at), end_at, volume_ml)

    def _settle(self, at: datetime, scale_ml: float) -> None:
        self._settled += self._said
        self._said = []
        self._flushes = []
        self.scale_ml = scale_ml
        self.scale_at = self.since = at

    def _ask_about_flushes(self) -> None:
        for flush in self._flushes:
            self._ask(
                flush,
                "How much of the flush stood in the chamber when that was emptied or first read is "
                "not known: all of it comes off what drained afterwards.",
            )

    def _ask(self, fact: Fact[Told], text: str) -> None:
        self.questions.append(Question(fact.number, fact.at, text))

    def increments(self) -> list[Increment]:
        return self._settled + self._said


def _without_flushes(
    increments: list[Increment], flushes: list[tuple[datetime, float]]
) -> tuple[list[Increment], float]:
    """The increments less what was flushed in by their end, and what could not come off any."""
    net = []
    taken_ml = 0.0
    for increment in increments:
        flushed_ml = fsum(volume_ml for at, volume_ml in flushes if at <= increment.end_at)
        off_ml = min(flushed_ml - taken_ml, increment.volume_ml)
        taken_ml += off_ml
        net.append(replace(increment, volume_ml=increment.volume_ml - off_ml))
    return net, fsum(volume_ml for _, volume_ml in flushes) - taken_ml


def _clock_hour(at: datetime, zone: timezone) -> datetime:
    return at.astimezone(zone).replace(minute=0, second=0, microsecond=0)
