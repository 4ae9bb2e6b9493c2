"""How laboratory values are written down."""

from __future__ import annotations

WORDING = {
    "laboratory": "{analyte}|{value}[ {unit}]",
}
