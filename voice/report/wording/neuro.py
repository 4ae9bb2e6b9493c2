"""How neuro checks are written down."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.neuro import ComaParts, LimbMovement, Pupils
from voice.report.wording.numbers import number

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

WORDING = {
    "pupils": "Pupils|[{alike} ][{size_mm} mm ][{reaction}]",
    "pupil": "Pupil {side}|[{size_mm} mm ][{reaction}]",
    "coma_score": "GCS|{total}",
    "coma_parts": "GCS|eyes {eyes}, verbal {verbal}, motor {motor}[, total {total}]",
    "limb_movement": "{limbs}|[{movement}][ strength {strength} of 5]",
}


def worked_out(entry: Entry) -> dict[str, str]:
    """What the wording needs beyond the entry's own fields."""
    match entry:
        case Pupils(equal=equal, size_mm=size, reaction=reaction):
            alike = {None: "", True: "equal", False: "unequal"}[equal]
            return {"alike": f"{alike} and" if alike and reaction and not size else alike}
        case ComaParts(eyes=eyes, verbal=verbal, motor=motor):
            total = "" if verbal == "tube" else number(eyes + verbal + motor)
            return {"total": total}
        case LimbMovement(side="both", limb=limb):
            return {"limbs": "all limbs" if limb == "arm and leg" else f"both {limb}s"}
        case LimbMovement(side=side, limb=limb):
            return {"limbs": f"{side} {'side' if limb == 'arm and leg' else limb}"}
        case _:
            return {}
