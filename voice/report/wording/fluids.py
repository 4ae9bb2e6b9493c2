"""How fluids are written down."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.fluids import BloodGiven

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

WORDING = {
    "fluid_in": "{fluid}|{volume_ml} mL",
    "blood_given": "{product}|{units}",
    "urine_out": "Urine|{volume_ml} mL",
}


def worked_out(entry: Entry) -> dict[str, str]:
    """What the wording needs beyond the entry's own fields."""
    match entry:
        case BloodGiven(count=count):
            return {"units": "1 unit" if count == 1 else f"{count} units"}
        case _:
            return {}
