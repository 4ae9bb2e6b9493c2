"""The order for the drain, as it was told to the nurse; each entry is one aspect of it."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from voice.entries.frozen import Frozen
from voice.entries.kinds.drain import PressureUnit, Reference


class OrderDrain(Frozen):
    """How the drain is to stand: open or clamped, and at which level.

    Raises ValueError where neither state nor level is told, and for a reference without a level.
    """

    kind: Literal["order_drain"] = "order_drain"
    state: Literal["open", "clamped"] | None = None
    """``None`` where only the level was told."""
    level_cmh2o: float | None = Field(default=None, ge=-20, le=40)
    reference: Reference | None = None

    @model_validator(mode="after")
    def _tells_something(self) -> Self:
        if self.state is None and self.level_cmh2o is None:
            raise ValueError("an order for the drain tells its state or its level")
        if self.reference is not None and self.level_cmh2o is None:
            raise ValueError("a reference needs a level")
        return self


class OrderHourlyLimit(Frozen):
    """The most that may drain in an hour."""

    kind: Literal["order_hourly_limit"] = "order_hourly_limit"
    volume_ml: float = Field(ge=0, le=100)


class OrderPressureLimit(Frozen):
    """The intracranial pressure that is not to be passed, on one side."""

    kind: Literal["order_pressure_limit"] = "order_pressure_limit"
    side: Literal["above", "below"]
    """On which side of ``value`` the pressure is not to be."""
    value: float = Field(ge=-10, le=100)
    unit: PressureUnit


class OrderFlushLimit(Frozen):
    """How often the line may be flushed on this leg."""

    kind: Literal["order_flush_limit"] = "order_flush_limit"
    count: int = Field(ge=0, le=9)


class OrderClampLimit(Frozen):
    """For how long at a time the drain may be clamped."""

    kind: Literal["order_clamp_limit"] = "order_clamp_limit"
    minutes: int = Field(ge=1, le=240)


class OrderPerfusionTarget(Frozen):
    """The cerebral perfusion pressure that is to be reached at least."""

    kind: Literal["order_perfusion_target"] = "order_perfusion_target"
    value_mmhg: int = Field(ge=30, le=120)


class OrderPressureInterval(Frozen):
    """How long after a pressure the next is to be read at the latest."""

    kind: Literal["order_pressure_interval"] = "order_pressure_interval"
    minutes: int = Field(ge=1, le=24 * 60)


class OrderZeroInterval(Frozen):
    """How long after zeroing the transducer is to be zeroed again at the latest."""

    kind: Literal["order_zero_interval"] = "order_zero_interval"
    hours: int = Field(ge=1, le=72)


class OrderDoseInterval(Frozen):
    """How long after a dose of a drug the next is due."""

    kind: Literal["order_dose_interval"] = "order_dose_interval"
    drug: str
    """Generic name, as in the grammar's list of drugs."""
    hours: int = Field(ge=1, le=72)


OrderEntry = (
    OrderDrain
    | OrderHourlyLimit
    | OrderPressureLimit
    | OrderFlushLimit
    | OrderClampLimit
    | OrderPerfusionTarget
    | OrderPressureInterval
    | OrderZeroInterval
    | OrderDoseInterval
)
"""What can be ordered for the drain, and when what has to come back is due."""
