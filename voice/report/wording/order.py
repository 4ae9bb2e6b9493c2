"""How the order for the drain is written down."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.order import OrderDrain
from voice.report.wording.drain import height

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

WORDING = {
    "order_drain": "Order: drain|{standing}",
    "order_hourly_limit": "Order: in an hour|at most {volume_ml} mL",
    "order_pressure_limit": "Order: ICP|not {side} {value} {unit}",
    "order_flush_limit": "Order: flushes|at most {count}",
    "order_clamp_limit": "Order: clamped|at most {minutes} min at a time",
    "order_perfusion_target": "Order: CPP|at least {value_mmhg} mmHg",
    "order_pressure_interval": "Order: pressure read|every {minutes} min",
    "order_zero_interval": "Order: zeroed|every {hours} h",
    "order_dose_interval": "Order: {drug}|every {hours} h",
}


def worked_out(entry: Entry) -> dict[str, str]:
    """What the wording needs beyond the entry's own fields."""
    match entry:
        case OrderDrain(state=state, level_cmh2o=level, reference=reference):
            told = (state, None if level is None else f"at {height(level, reference)}")
            return {"standing": " ".join(part for part in told if part)}
        case _:
            return {}
