"""How the drain's parts, their care and their troubles are written down."""

from __future__ import annotations

from calendar import month_name
from typing import TYPE_CHECKING

from voice.entries.kinds.drain_care import CatheterPlaced, MountFits, SpareCables

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

WORDING = {
    "catheter_placed": "Catheter placed|{day} {month_in_words}[ {clock}]",
    "catheter_out": "Catheter out|",
    "occlusion": "Occlusion|{state}",
    "line_disconnected": "Line disconnected|",
    "disconnection_step": "{step}|",
    "drain_leak": "Leak|[at the {where}]",
    "filter_wet": "Filter wet|",
    "tubing_checked": "Tubing checked|",
    "tubing_secured": "Tubing coiled and taped|",
    "dressing": "Dressing|{state}",
    "stopcocks": "Both stopcocks|{position}",
    "chamber_upright": "Chamber upright|",
    "drain_kind": "Kind of drain|{design}",
    "mount_fits": "Mount|{fitting}",
    "spare_cables": "Spare pressure cables|{presence}",
}


def worked_out(entry: Entry) -> dict[str, str]:
    """What the wording needs beyond the entry's own fields."""
    match entry:
        case CatheterPlaced(month=month, hour=hour, minute=minute):
            clock = "" if hour is None else f"{hour:02d}:{minute:02d}"
            return {"month_in_words": month_name[month], "clock": clock}
        case MountFits(fits=fits):
            return {"fitting": "fits" if fits else "does not fit"}
        case SpareCables(there=there):
            return {"presence": "on board" if there else "missing"}
        case _:
            return {}
