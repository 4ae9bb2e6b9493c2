"""How pressure and drain are written down."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.drain import DrainLevel
from voice.report.wording.numbers import number

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

WORDING = {
    "pressure": "ICP|{value} {unit}",
    "drain_level": "Drain level|{height} cmH2O[ {side}][ {reference}]",
    "chamber_reading": "Chamber at|{volume_ml} mL",
    "drained": "Drained|{volume_ml} mL",
    "chamber_emptied": "Chamber emptied|",
    "bag_changed": "Bag changed|",
    "flushed": "Flushed|{volume_ml} mL",
    "csf_colour": "CSF colour|{colour}",
    "csf_clarity": "CSF clarity|{clarity}",
    "drain_clamped": "Drain clamped|[for {reason}]",
    "drain_opened": "Drain open|",
    "drain_levelled": "Drain levelled|",
    "drain_zeroed": "Drain zeroed|",
    "zero_failed": "Zero failed|",
    "no_drip": "No drip at|{level_cmh2o} cmH2O",
    "line_disconnected": "Line disconnected|",
}


def worked_out(entry: Entry) -> dict[str, str]:
    """What the wording needs beyond the entry's own fields."""
    match entry:
        case DrainLevel(level_cmh2o=level, reference=reference):
            side = "at" if level == 0 else "above" if level > 0 else "below"
            if reference is None:
                return {"height": number(level), "side": ""}
            return {"height": number(abs(level)), "side": side}
        case _:
            return {}
