"""Fluids in against fluids out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from voice.entries.kinds.drugs import DrugGiven
from voice.entries.kinds.fluids import BloodGiven, FluidIn, UrineOut
from voice.figures.facts import count_unconfirmed, facts
from voice.figures.output import output

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime, timezone

    from voice.entries.leg import LegEntry


@dataclass(frozen=True, slots=True)
class FluidBalance:
    """All that was told to have gone in and to have come out."""

    given_ml: tuple[tuple[str, float], ...]
    """What went in, by its name in the order in which it was first given."""
    urine_ml: float | None
    """``None`` where none was told."""
    csf_ml: float | None
    """What drained, as `output` counts it; ``None`` where nothing was told of it."""
    units: tuple[tuple[str, int], ...]
    """Blood told by the unit: how much went in is not known, and it is not counted."""
    unconfirmed: int
    """How many of the entries behind it were never confirmed aloud."""

    @property
    def in_ml(self) -> float:
        """All that went in."""
        return sum(volume_ml for _, volume_ml in self.given_ml)

    @property
    def out_ml(self) -> float:
        """All that came out."""
        return (self.urine_ml or 0.0) + (self.csf_ml or 0.0)

    @property
    def net_ml(self) -> float:
        """What the patient has gained; below zero, what he has lost."""
        return self.in_ml - self.out_ml


def fluid_balance(
    entries: Iterable[LegEntry], started_at: datetime, zone: timezone
) -> FluidBalance:
    """The balance of a leg that started at ``started_at`` and has its clock in ``zone``.

    In is what was told by its volume: fluids, blood, and doses told in mL, as of hypertonic saline.
    Infusions are not counted, nor is what was flushed into the drain: `output` takes that off what
    drained.
    """
    entries = list(entries)
    fluids, urine = facts(entries, FluidIn), facts(entries, UrineOut)
    doses = [f for f in facts(entries, DrugGiven) if f.told.unit == "mL"]
    told: list[tuple[datetime, str, float]] = [
        *((f.at, f.told.fluid, f.told.volume_ml) for f in fluids),
        *((f.at, f.told.drug, f.told.dose) for f in doses),
    ]
    given_ml: dict[str, float] = {}
    for _, name, volume_ml in sorted(told):
        given_ml[name] = given_ml.get(name, 0) + volume_ml
    units: dict[str, int] = {}
    blood = facts(entries, BloodGiven)
    for fact in blood:
        units[fact.told.product] = units.get(fact.told.product, 0) + fact.told.count
    drained = output(entries, started_at, zone)
    return FluidBalance(
        given_ml=tuple(given_ml.items()),
        urine_ml=sum(f.told.volume_ml for f in urine) if urine else None,
        csf_ml=None if drained.up_to is None else drained.total_ml,
        units=tuple(units.items()),
        unconfirmed=count_unconfirmed([*fluids, *urine, *doses, *blood]) + drained.unconfirmed,
    )
