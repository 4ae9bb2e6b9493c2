"""How drugs are written down."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.drugs import LastDose, Weight
from voice.report.wording.numbers import number

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

WORDING = {
    "drug_given": "{drug}|{dose} {unit}",
    "infusion_started": "{drug}|started at {rate} {unit}",
    "infusion_changed": "{drug}|changed to {rate} {unit}",
    "infusion_stopped": "{drug}|stopped",
    "last_dose": "{drug}, last dose|{time}[ {day}]",
    "weight": "Weight|{value} {unit}[ ({kg} kg)]",
}


def worked_out(entry: Entry) -> dict[str, str]:
    """What the wording needs beyond the entry's own fields."""
    match entry:
        case LastDose(hour=hour, minute=minute):
            return {"time": f"{hour:02}:{minute:02}"}
        case Weight(unit=unit, value_kg=kg):
            return {"kg": "" if unit == "kg" else number(round(kg, 1))}
        case _:
            return {}
