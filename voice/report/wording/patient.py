"""How the patient's position, alertness and troubles are written down."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.patient import SedationScore

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

WORDING = {
    "diagnosis": "Diagnosis|{diagnosis}",
    "head_of_bed": "Head of bed|{angle_deg} degrees",
    "head_position": "Head|{position}",
    "position": "Patient|{position}",
    "sedation": "Level of consciousness|{state}",
    "sedation_score": "RASS|{signed}",
    "patient_event": "{event}|",
}


def worked_out(entry: Entry) -> dict[str, str]:
    """What the wording needs beyond the entry's own fields."""
    match entry:
        case SedationScore(score=score):
            return {"signed": f"{score:+d}" if score else "0"}
        case _:
            return {}
