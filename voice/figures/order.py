"""The order for the drain as it stands: the last that was told of each aspect of it."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any, TypeVar

from voice.entries.kinds.order import (
    OrderClampLimit,
    OrderDoseInterval,
    OrderDrain,
    OrderFlushLimit,
    OrderHourlyLimit,
    OrderPerfusionTarget,
    OrderPressureInterval,
    OrderPressureLimit,
    OrderZeroInterval,
)
from voice.figures.facts import Fact, facts, last
from voice.figures.units import convert

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from voice.entries.kinds.drain import PressureUnit
    from voice.entries.leg import LegEntry

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Order:
    """What is ordered, aspect by aspect, each with since when; ``None`` is what was never told.

    A later order changes only the aspects that it tells: "order drain clamped" leaves the level as
    it was ordered before.
    """

    state: Fact[OrderDrain] | None
    """The last order that told whether the drain is open or clamped."""
    level: Fact[OrderDrain] | None
    """The last that told a level, with its reference."""
    hourly_limit: Fact[OrderHourlyLimit] | None
    not_above: Fact[OrderPressureLimit] | None
    not_below: Fact[OrderPressureLimit] | None
    flush_limit: Fact[OrderFlushLimit] | None
    clamp_limit: Fact[OrderClampLimit] | None
    perfusion_target: Fact[OrderPerfusionTarget] | None
    pressure_interval: Fact[OrderPressureInterval] | None = None
    zero_interval: Fact[OrderZeroInterval] | None = None
    dose_intervals: tuple[Fact[OrderDoseInterval], ...] = ()
    """One a drug, in the order in which the drugs were first told."""

    def told(self) -> tuple[Fact[Any], ...]:
        """The entries that make up the order, each once, in the order of its aspects."""
        aspects = (getattr(self, aspect.name) for aspect in fields(self))
        several = (one if isinstance(one, tuple) else (one,) for one in aspects)
        told = (one for some in several for one in some if one is not None)
        return tuple({one.number: one for one in told}.values())


def order(entries: Iterable[LegEntry]) -> Order:
    """The order, out of the entries that count, by the time at which each was told to have held."""
    entries = list(entries)
    drain = facts(entries, OrderDrain)
    limits = facts(entries, OrderPressureLimit)
    return Order(
        state=_last(f for f in drain if f.told.state is not None),
        level=_last(f for f in drain if f.told.level_cmh2o is not None),
        hourly_limit=last(entries, OrderHourlyLimit),
        not_above=_last(f for f in limits if f.told.side == "above"),
        not_below=_last(f for f in limits if f.told.side == "below"),
        flush_limit=last(entries, OrderFlushLimit),
        clamp_limit=last(entries, OrderClampLimit),
        perfusion_target=last(entries, OrderPerfusionTarget),
        pressure_interval=last(entries, OrderPressureInterval),
        zero_interval=last(entries, OrderZeroInterval),
        dose_intervals=tuple({f.told.drug: f for f in facts(entries, OrderDoseInterval)}.values()),
    )


def shortest(told: Sequence[Fact[T]], length: Callable[[T], int]) -> Fact[T] | None:
    """The last that was told of a time limit; ``told`` stands in order.

    One that was never confirmed loosens none that was: of the two the shorter holds.
    """
    if not told or told[-1].confirmed:
        return next(iter(told[-1:]), None)
    sure = [fact for fact in told if fact.confirmed]
    return min([*sure[-1:], told[-1]], key=lambda fact: length(fact.told))


def hourly_limits_ml(entries: Iterable[LegEntry]) -> tuple[float, ...]:
    """Every limit on the output of an hour that was told."""
    return tuple(fact.told.volume_ml for fact in facts(entries, OrderHourlyLimit))


def pressure_limits(entries: Iterable[LegEntry], unit: PressureUnit) -> tuple[float, ...]:
    """Every limit on the pressure that was told, on either side, in ``unit``."""
    told = (fact.told for fact in facts(entries, OrderPressureLimit))
    return tuple(convert(limit.value, limit.unit, unit) for limit in told)


def perfusion_targets_mmhg(entries: Iterable[LegEntry]) -> tuple[float, ...]:
    """Every perfusion pressure to be reached that was told."""
    return tuple(float(fact.told.value_mmhg) for fact in facts(entries, OrderPerfusionTarget))


def _last(found: Iterable[Fact[T]]) -> Fact[T] | None:
    return next(reversed(list(found)), None)
