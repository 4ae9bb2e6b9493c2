"""What went in, what came out, and the balance of the two."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.fluids import BloodGiven, FluidIn, UrineOut
from voice.figures.facts import confirmed_only
from voice.figures.fluids import FluidBalance, fluid_balance
from voice.report.telling import ml

if TYPE_CHECKING:
    from voice.report.telling import Telling


def fluids(told: Telling) -> list[str]:
    """A line for each fluid, then the balance; nothing where only the drain's output was told."""
    each = told.series(FluidIn, BloodGiven, UrineOut)
    return [*each, *balance(told)] if each else []


def balance(told: Telling) -> list[str]:
    """What went in, what came out and the difference; nothing where only the drain's was told."""
    if not told.counting(FluidIn, BloodGiven, UrineOut):
        return []
    leg = told.leg
    found = fluid_balance(leg.entries, leg.started_at, leg.settings.zone)
    given = ", ".join(f"{name} {ml(volume_ml)}" for name, volume_ml in found.given_ml)
    units = ", ".join(f"{product} {count}" for product, count in found.units)
    return [
        f"In {ml(found.in_ml)}: {given}." if given else "In: nothing told by its volume.",
        _out(found),
        f"Balance {_net(found)}.",
        *([f"Told by the unit and not counted: {units}."] if units else []),
        *_without_unconfirmed(told, found),
    ]


def _without_unconfirmed(told: Telling, found: FluidBalance) -> list[str]:
    """The same without what was never confirmed; no line where all of it was."""
    if not found.unconfirmed:
        return []
    leg = told.leg
    sure = fluid_balance(confirmed_only(leg.entries), leg.started_at, leg.settings.zone)
    alone = f"in {ml(sure.in_ml)}, out {ml(sure.out_ml)}, balance {_net(sure)}"
    return [f"Unconfirmed entries behind it: {found.unconfirmed}. Without them: {alone}."]


def _out(found: FluidBalance) -> str:
    if found.urine_ml is None and found.csf_ml is None:
        return "Out: nothing told."
    each = (("urine", found.urine_ml), ("CSF", found.csf_ml))
    parts = (f"{what} {'not told' if told is None else ml(told)}" for what, told in each)
    return f"Out {ml(found.out_ml)}: {', '.join(parts)}."


def _net(found: FluidBalance) -> str:
    sign = "plus" if found.net_ml >= 0 else "minus"
    return f"{sign} {ml(abs(found.net_ml))}"
