"""What was given: what runs now, how much in all, last doses, and every dose in order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.drugs import GIVEN, LastDose, Weight
from voice.figures.drugs import (
    Amount,
    Doses,
    DrugFigures,
    drug_figures,
    last_dose_at,
    weight_kg,
)
from voice.figures.facts import confirmed_only, facts
from voice.report.telling import doubt, tenths
from voice.report.wording import number

if TYPE_CHECKING:
    from voice.report.telling import Telling


def drugs(told: Telling) -> list[str]:
    """What runs now, the weight, last doses before the leg, sums, and all of it in order."""
    return [*drug_sums(told), *given(told)]


def drug_sums(told: Telling) -> list[str]:
    """What runs now, the weight, last doses before the leg, and sums."""
    found = drug_figures(told.leg.entries, told.until)
    confirmed = drug_figures(confirmed_only(told.leg.entries), told.until)
    alone = {one.drug: one for one in confirmed}
    return [
        *_running(told, found),
        *told.in_order(Weight),
        *_before(told),
        *(line for one in found for line in _sums(told, one, alone.get(one.drug))),
    ]


def _before(told: Telling) -> list[str]:
    """The last dose of each drug before the leg, with the day on which it was."""
    zone = told.leg.settings.zone
    return [
        f"{fact.told.drug[0].upper()}{fact.told.drug[1:]}, last dose before the leg "
        f"{told.day_and_time(last_dose_at(fact, zone))}{doubt(fact)}."
        for fact in facts(told.leg.entries, LastDose)
    ]


def given(told: Telling) -> list[str]:
    """A line for each dose and each turn of an infusion."""
    return told.in_order(*GIVEN)


def _running(told: Telling, found: tuple[DrugFigures, ...]) -> list[str]:
    rates = [
        f"{one.drug} {number(run.rate)} {run.unit} since {told.time(run.start_at)}{doubt(run)}"
        for one in found
        if (run := one.running)
    ]
    return [f"Running: {'; '.join(rates)}."] if rates else []


def _sums(told: Telling, one: DrugFigures, alone: DrugFigures | None) -> list[str]:
    """A line for a drug; none for a single dose of which no weight tells more.

    ``alone`` is what the confirmed entries tell of it, if anything.
    """
    kg = weight_kg(told.leg.entries)
    parts = _parts(told, one, kg)
    single = len(parts) == 1 and [doses.times for doses in one.doses] == [1]
    if not parts or (single and not kg):
        return []
    if one.last_dose_at:
        parts.append(f"last dose {told.day_and_time(one.last_dose_at)}")
    return [
        f"{one.drug[0].upper()}{one.drug[1:]} in all: {'; '.join(parts)}{_unsure(told, one, alone)}."
    ]


def _parts(told: Telling, one: DrugFigures, kg: float | None) -> list[str]:
    """How much was given as doses, and how much ran in."""
    parts = [_doses(doses, kg) for doses in one.doses]
    up_to = f" up to {told.time(told.until)}" if told.breaks_off and one.running else ""
    parts += [f"ran in {_amount(amount)}{up_to}" for amount in one.ran_in]
    if one.without_weight:
        parts.append("what ran in by weight is not worked out: no weight told")
    return parts


def _unsure(told: Telling, one: DrugFigures, alone: DrugFigures | None) -> str:
    """How much of it was never confirmed, and what it is without."""
    if not one.unconfirmed:
        return ""
    kg = weight_kg(confirmed_only(told.leg.entries))
    parts = _parts(told, alone, kg) if alone else []
    return f"; unconfirmed entries {one.unconfirmed}, without them {'; '.join(parts) or 'nothing'}"


def _doses(doses: Doses, kg: float | None) -> str:
    """How often and how much, and how much for each kilogram where the weight was told."""
    times = "1 dose" if doses.times == 1 else f"{doses.times} doses"
    per_kg = f", {_by_weight(doses.amount / kg, doses.unit)}" if kg else ""
    return f"{times}, {number(doses.amount)} {doses.unit}{per_kg}"


def _by_weight(amount: float, unit: str) -> str:
    """Two digits are enough of what a weight was told for; small masses in the next unit."""
    smaller = {"g": "mg", "mg": "mcg"}.get(unit)
    if smaller and amount < 0.1:
        amount, unit = amount * 1000, smaller
    return f"{float(f'{amount:.2g}'):g} {unit}/kg"


def _amount(amount: Amount) -> str:
    """An amount rounded to what can be read: small masses in mcg, large ones in g."""
    if amount.unit != "mg":
        return f"{tenths(amount.value)} {amount.unit}"
    if amount.value < 1:
        return f"{tenths(amount.value * 1000)} mcg"
    if amount.value >= 10_000:
        return f"{tenths(amount.value / 1000)} g"
    return f"{tenths(amount.value)} mg"
