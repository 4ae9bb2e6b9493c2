"""What was given of each drug: doses by unit, what ran in, what runs now, and the last dose."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple

from voice.entries.kinds.drugs import (
    GIVEN,
    DoseUnit,
    DrugGiven,
    InfusionChanged,
    InfusionStarted,
    InfusionStopped,
    LastDose,
    RateUnit,
    Weight,
)
from voice.figures.facts import Fact, count_unconfirmed, facts

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime, timezone

    from voice.entries.leg import LegEntry

_MINUTES = {"min": 1.0, "h": 60.0}
_MG = {"mcg": 0.001, "mg": 1.0, "g": 1000.0}
Infusion = InfusionStarted | InfusionChanged | InfusionStopped
_OF_SUMS = (*GIVEN, Weight)


class Doses(NamedTuple):
    """The doses of one drug that were told in one unit."""

    times: int
    amount: float
    unit: DoseUnit


class Amount(NamedTuple):
    """So much of a drug. All masses are in mg."""

    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class Run:
    """A time for which an infusion ran at one rate."""

    start_at: datetime
    end_at: datetime | None
    """``None`` while it runs."""
    rate: float
    unit: RateUnit
    confirmed: bool
    """Whether its start and its end were both confirmed aloud."""
    number: int
    """Of the entry that told its rate."""

    @property
    def per_kg(self) -> bool:
        """Whether the patient's weight is needed to tell how much ran in."""
        return "/kg" in self.unit

    def amount(self, until: datetime, weight_kg: float | None) -> Amount | None:
        """What ran in, up to ``until``; ``None`` where it takes a weight that was not told."""
        if self.per_kg and weight_kg is None:
            return None
        of, *_, per = self.unit.split("/")
        end_at = max(self.start_at, min(self.end_at or until, until))
        time = (end_at - self.start_at).total_seconds() / 60 / _MINUTES[per]
        value = self.rate * time * (weight_kg if self.per_kg and weight_kg else 1.0)
        return Amount(value * _MG[of], "mg") if of in _MG else Amount(value, of)


@dataclass(frozen=True, slots=True)
class DrugFigures:
    """What was given of one drug."""

    drug: str
    doses: tuple[Doses, ...]
    """By unit, in the order in which each was first told."""
    last_dose_at: datetime | None
    ran_in: tuple[Amount, ...]
    """By infusion, each unit once."""
    running: Run | None
    """The infusion that runs now."""
    without_weight: bool
    """Whether an infusion per kilogram is left out of `ran_in`, since no weight was told."""
    unconfirmed: int
    """How many of the entries behind this were never confirmed aloud, the weight that it goes by among them."""


def weight_kg(entries: Iterable[LegEntry]) -> float | None:
    """The patient's weight as it was told last; it holds for the whole leg."""
    return next((weight.told.value_kg for weight in _weights(entries)), None)


def _weights(entries: Iterable[LegEntry]) -> list[Fact[Weight]]:
    """The weight that counts; none where none was told."""
    return list(facts(entries, Weight)[-1:])


def runs(entries: Iterable[LegEntry], drug: str) -> tuple[Run, ...]:
    """The infusion of a drug, cut where its rate changed.

    A rate that is told for an infusion that was not said to run counts from then on; stopping what
    does not run changes nothing.
    """
    found: list[Run] = []
    for turn in _infusions(entries, drug):
        if found and found[-1].end_at is None:
            sure = found[-1].confirmed and turn.confirmed
            found[-1] = replace(found[-1], end_at=turn.at, confirmed=sure)
        if not isinstance(turn.told, InfusionStopped):
            found.append(
                Run(turn.at, None, turn.told.rate, turn.told.unit, turn.confirmed, turn.number)
            )
    return tuple(found)


def taken(entries: Iterable[LegEntry], drug: str, zone: timezone) -> list[datetime]:
    """When each dose of a drug was given, those before the leg too, in that order.

    ``zone`` is the leg's clock, by which the time of a last dose was said.
    """
    entries = list(entries)
    given = [fact.at for fact in facts(entries, DrugGiven) if fact.told.drug == drug]
    before = [
        last_dose_at(fact, zone) for fact in facts(entries, LastDose) if fact.told.drug == drug
    ]
    return sorted([*given, *before])


def last_dose_at(told: Fact[LastDose], zone: timezone) -> datetime:
    """When a dose before the leg was given, by the leg's clock, which stands in ``zone``.

    The latest such time of day at or before it was said, or that of the day before.
    """
    dose, said_at = told.told, told.at.astimezone(zone)
    that_day = said_at.replace(hour=dose.hour, minute=dose.minute, second=0, microsecond=0)
    earlier = dose.day == "yesterday" or that_day > said_at
    return that_day - timedelta(days=1) if earlier else that_day


def drug_figures(entries: Iterable[LegEntry], until: datetime) -> tuple[DrugFigures, ...]:
    """What was given of each drug, in the order in which each was first told.

    ``until`` (aware) is the moment up to which a running infusion counts. A rate times the time for
    which it ran, times the weight where it is per kilogram: arithmetic, no source needed. What is
    left in the line and what the pump itself counted are not known here.
    """
    entries = [one for one in entries if isinstance(one.entry, _OF_SUMS)]
    told: list[Fact[DrugGiven | Infusion]] = [*facts(entries, DrugGiven), *_infusions(entries)]
    drugs = dict.fromkeys(f.told.drug for f in sorted(told, key=lambda f: (f.at, f.number)))
    kg = weight_kg(entries)
    return tuple(_figures(entries, drug, until, kg) for drug in drugs)


def _figures(entries: list[LegEntry], drug: str, until: datetime, kg: float | None) -> DrugFigures:
    given = [f for f in facts(entries, DrugGiven) if f.told.drug == drug]
    ran = runs(entries, drug)
    amounts = [run.amount(until, kg) for run in ran]
    weighed = _weights(entries) if given or any(run.per_kg for run in ran) else []
    sums: dict[str, float] = {}
    for amount in amounts:
        if amount is not None:
            sums[amount.unit] = sums.get(amount.unit, 0.0) + amount.value
    return DrugFigures(
        drug=drug,
        doses=_by_unit([f.told for f in given]),
        last_dose_at=given[-1].at if given else None,
        ran_in=tuple(Amount(value, unit) for unit, value in sums.items()),
        running=next((run for run in ran[-1:] if run.end_at is None), None),
        without_weight=None in amounts,
        unconfirmed=count_unconfirmed([*given, *_infusions(entries, drug), *weighed]),
    )


def _by_unit(given: list[DrugGiven]) -> tuple[Doses, ...]:
    units = dict.fromkeys(one.unit for one in given)
    doses = {unit: [one.dose for one in given if one.unit == unit] for unit in units}
    return tuple(Doses(len(some), sum(some), unit) for unit, some in doses.items())


def _infusions(entries: Iterable[LegEntry], drug: str | None = None) -> list[Fact[Infusion]]:
    """Every start, change and stop, of one drug or of all, in the order in which it happened."""
    entries = list(entries)
    found: list[Fact[Infusion]] = [
        *facts(entries, InfusionStarted),
        *facts(entries, InfusionChanged),
        *facts(entries, InfusionStopped),
    ]
    chosen = [f for f in found if drug in {None, f.told.drug}]
    return sorted(chosen, key=lambda f: (f.at, f.number))
