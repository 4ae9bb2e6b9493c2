"""How numbers are written down."""

from __future__ import annotations


def number(value: float) -> str:
    """A number with no zero at its end and one before the point: 14, 0.5.

    Source: lists of safe-medication practice (from memory).
    """
    return f"{value:.3f}".rstrip("0").rstrip(".")
