"""Care of the drain: catheter, line, chamber, stopcocks, what goes along; its troubles."""

from __future__ import annotations

from calendar import monthrange
from typing import Literal, Self

from pydantic import Field, model_validator

from voice.entries.frozen import Frozen

_LEAP_YEAR = 2000
"""Any year with a 29 February: a date is told without its year."""


class CatheterPlaced(Frozen):
    """When the ventricular catheter was placed, by the clock of where that was; no year is told.

    Raises ValueError for a day that its month does not have, and for half a time of day.
    """

    kind: Literal["catheter_placed"] = "catheter_placed"
    month: int = Field(ge=1, le=12)
    day: int = Field(ge=1, le=31)
    hour: int | None = Field(default=None, ge=0, le=23)
    minute: int | None = Field(default=None, ge=0, le=59)

    @model_validator(mode="after")
    def _is_a_date(self) -> Self:
        if self.day > monthrange(_LEAP_YEAR, self.month)[1]:
            raise ValueError(f"month {self.month} has no day {self.day}")
        if (self.hour is None) != (self.minute is None):
            raise ValueError("a time of day has an hour and a minute")
        return self


class CatheterOut(Frozen):
    """The ventricular catheter came out, or was pulled."""

    kind: Literal["catheter_out"] = "catheter_out"


class Occlusion(Frozen):
    """The drain seems to be blocked, or no longer."""

    kind: Literal["occlusion"] = "occlusion"
    state: Literal["suspected", "cleared"]


class LineDisconnected(Frozen):
    """The line came apart: an emergency."""

    kind: Literal["line_disconnected"] = "line_disconnected"


class DisconnectionStep(Frozen):
    """What was done about a line that came apart."""

    kind: Literal["disconnection_step"] = "disconnection_step"
    step: Literal["line clamped", "end covered", "site cleaned", "line changed", "line reconnected"]


class DrainLeak(Frozen):
    """Fluid leaks."""

    kind: Literal["drain_leak"] = "drain_leak"
    where: Literal["line", "connection", "chamber", "site"] | None = None
    """``None`` where it was not said."""


class FilterWet(Frozen):
    """The chamber's air filter is wet: it may stop zeroing and draining."""

    kind: Literal["filter_wet"] = "filter_wet"


class TubingChecked(Frozen):
    """The tubing was looked over from end to end."""

    kind: Literal["tubing_checked"] = "tubing_checked"


class TubingSecured(Frozen):
    """The tubing was coiled and taped, so that nothing pulls at the catheter."""

    kind: Literal["tubing_secured"] = "tubing_secured"


class Dressing(Frozen):
    """How the dressing at the catheter's site is, or that it was changed."""

    kind: Literal["dressing"] = "dressing"
    state: Literal["dry", "wet", "bloody", "loose", "changed"]


class Stopcocks(Frozen):
    """Both stopcocks, by the catheter and at the chamber: off for a move, on again after it."""

    kind: Literal["stopcocks"] = "stopcocks"
    position: Literal["off", "on"]


class ChamberUpright(Frozen):
    """The chamber hangs upright."""

    kind: Literal["chamber_upright"] = "chamber_upright"


class DrainKind(Frozen):
    """Whether the chamber hangs on a pole of its own, or is one piece with its scale."""

    kind: Literal["drain_kind"] = "drain_kind"
    design: Literal["own pole", "one piece"]


class MountFits(Frozen):
    """Whether the mount on board fits the drain."""

    kind: Literal["mount_fits"] = "mount_fits"
    fits: bool


class SpareCables(Frozen):
    """Whether there are spare pressure cables, so that ICP and arterial pressure run together."""

    kind: Literal["spare_cables"] = "spare_cables"
    there: bool


DrainCareEntry = (
    CatheterPlaced
    | CatheterOut
    | Occlusion
    | LineDisconnected
    | DisconnectionStep
    | DrainLeak
    | FilterWet
    | TubingChecked
    | TubingSecured
    | Dressing
    | Stopcocks
    | ChamberUpright
    | DrainKind
    | MountFits
    | SpareCables
)
"""What can be said of the drain's parts, their care and their troubles."""
