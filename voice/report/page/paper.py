"""The kinds of paper that a page can be written for."""

from __future__ import annotations

from typing import Literal

Paper = Literal["a4", "letter"]

SIZE_MM: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height. Source: ISO 216; ANSI/ASME Y14.1 (8.5 by 11 inches)."""
