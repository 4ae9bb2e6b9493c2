"""Rounding that keeps a figure on its side of a limit: 59.67 beside an ordered 60 is 59.7, not 60."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

MOST_DIGITS = 3
"""More digits behind the point are neither written nor spoken."""
_DUST = 6
"""Figures that agree to so many digits are the same to every rule here."""


def beside(value: float, digits: int, limits: Iterable[float]) -> float:
    """``value`` rounded to ``digits``, or to more where that would bring it to a limit or past it.

    To `MOST_DIGITS` at most. ``limits`` are in the unit of ``value``.
    """
    exact, limits = round(value, _DUST), [round(limit, _DUST) for limit in limits]
    for enough in range(digits, MOST_DIGITS):
        rounded = round(exact, enough)
        if all(_side(rounded, limit) == _side(exact, limit) for limit in limits):
            return rounded
    return round(exact, MOST_DIGITS)


def _side(value: float, limit: float) -> int:
    """Below it -1, at it 0, above it 1."""
    return (value > limit) - (value < limit)
