"""How laboratory values are written down."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.laboratory import Laboratory

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

WORDING = {
    "laboratory": "{analyte}|{value}[ {unit}]",
}


def worked_out(entry: Entry) -> dict[str, str]:
    """What the wording needs beyond the entry's own fields."""
    match entry:
        case Laboratory(unit="10^9/L"):
            return {"unit": "x 10^9/L"}
        case _:
            return {}
