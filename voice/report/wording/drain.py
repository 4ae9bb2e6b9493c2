"""How pressure and drain are written down."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.drain import DrainLevel
from voice.report.wording.numbers import number

if TYPE_CHECKING:
    from voice.entries.kinds import Entry
    from voice.entries.kinds.drain import Reference

WORDING = {
    "pressure": "ICP|{value} {unit}",
    "opening_pressure": "Opening pressure|{value} {unit}",
    "waveform": "ICP waveform|{state}",
    "drain_level": "Drain level|{height}",
    "drain_level_mmhg": "Drain level|said as {level_mmhg} mmHg",
    "drips_at": "Drips at|{level_cmh2o} cmH2O",
    "no_drip": "No drip at|{level_cmh2o} cmH2O",
    "chamber_reading": "Chamber at|{volume_ml} mL",
    "drained": "Drained|{volume_ml} mL",
    "chamber_emptied": "Chamber emptied|[of {volume_ml} mL]",
    "stopcock_closed": "Chamber stopcock closed|",
    "bag_state": "Bag|{fill}",
    "bag_changed": "Bag changed|",
    "flushed": "Flushed|{volume_ml} mL[ by {by}]",
    "csf_colour": "CSF colour|{colour}",
    "csf_clarity": "CSF clarity|{clarity}",
    "drain_clamped": "Drain clamped|[for {reason}]",
    "drain_opened": "Drain open|",
    "drain_levelled": "Drain levelled|[to {reference}]",
    "drain_zeroed": "Drain zeroed|",
    "zero_failed": "Zero failed|",
}


def worked_out(entry: Entry) -> dict[str, str]:
    """What the wording needs beyond the entry's own fields."""
    match entry:
        case DrainLevel(level_cmh2o=level, reference=reference):
            return {"height": height(level, reference)}
        case _:
            return {}


def height(level_cmh2o: float, reference: Reference | None) -> str:
    """A level over its reference: "15 cmH2O above tragus"."""
    if reference is None:
        return f"{number(level_cmh2o)} cmH2O"
    side = "at" if level_cmh2o == 0 else "above" if level_cmh2o > 0 else "below"
    return f"{number(abs(level_cmh2o))} cmH2O {side} {reference}"
