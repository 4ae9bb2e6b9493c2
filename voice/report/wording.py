"""How each kind of entry is written down."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from voice.entries.kinds import BloodPressure, ComaParts, DrainLevel, Pupils
from voice.figures.units import mean_arterial_mmhg

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

_WORDING = {
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
    "head_of_bed": "Head of bed|{angle_deg} degrees",
    "heart_rate": "Heart rate|{rate_per_min} /min",
    "blood_pressure": "Blood pressure|{systolic_mmhg}/{diastolic_mmhg} mmHg, mean {mean}",
    "mean_pressure": "MAP|{value_mmhg} mmHg",
    "saturation": "Saturation|{percent} %",
    "respirations": "Respirations|{rate_per_min} /min",
    "end_tidal_co2": "End-tidal CO2|{value_mmhg} mmHg",
    "temperature": "Temperature|{value_celsius} °C",
    "pupils": "Pupils|[{alike} ][{size_mm} mm ][{reaction}]",
    "pupil": "Pupil {side}|[{size_mm} mm ][{reaction}]",
    "coma_score": "GCS|{total}",
    "coma_parts": "GCS|eyes {eyes}, verbal {verbal}, motor {motor}[, total {total}]",
    "drug_given": "{drug}|{dose} {unit}",
    "laboratory": "{analyte}|{value} {unit}",
    "leg_mark": "{mark}|",
    "spoken_note": "Spoken note|",
}
"""By kind: what it is, a bar, and its value; what stands in brackets falls away where a field in it
was not said."""

KINDS = frozenset(_WORDING)
"""Every kind that has a wording."""

_OPTIONAL = re.compile(r"\[([^]]*\{(\w+)\}[^]]*)\]")


def number(value: float) -> str:
    """A number with no zero at its end and one before the point: 14, 0.5.

    Source: lists of safe-medication practice (from memory).
    """
    return f"{value:.3f}".rstrip("0").rstrip(".")


def label(entry: Entry) -> str:
    """What the entry is about: "ICP"."""
    return _written(entry)[0]


def value(entry: Entry) -> str:
    """Its value with the unit: "14 mmHg"; empty where the fact alone is told."""
    return _written(entry)[1]


def entry_text(entry: Entry) -> str:
    """The entry as it is written down: "ICP 14 mmHg"."""
    return " ".join(_written(entry)).strip()


def _written(entry: Entry) -> tuple[str, str]:
    fields = {name: _field(told) for name, told in entry.model_dump().items()} | _worked_out(entry)

    def optional(match: re.Match[str]) -> str:
        return match[1] if fields[match[2]] else ""

    template = _OPTIONAL.sub(optional, _WORDING[entry.kind])
    about, _, value = template.format(**fields).partition("|")
    return about[0].upper() + about[1:], value.strip()


def _field(told: object) -> str:
    if told is None:
        return ""
    return number(told) if isinstance(told, int | float) else str(told)


def _worked_out(entry: Entry) -> dict[str, str]:
    """What the wording needs beyond the entry's own fields."""
    match entry:
        case DrainLevel(level_cmh2o=level, reference=reference):
            side = "at" if level == 0 else "above" if level > 0 else "below"
            if reference is None:
                return {"height": number(level), "side": ""}
            return {"height": number(abs(level)), "side": side}
        case BloodPressure(systolic_mmhg=systolic, diastolic_mmhg=diastolic):
            return {"mean": number(round(mean_arterial_mmhg(systolic, diastolic)))}
        case Pupils(equal=equal, size_mm=size, reaction=reaction):
            alike = {None: "", True: "equal", False: "unequal"}[equal]
            return {"alike": f"{alike} and" if alike and reaction and not size else alike}
        case ComaParts(eyes=eyes, verbal=verbal, motor=motor):
            total = "" if verbal == "tube" else number(eyes + verbal + motor)
            return {"total": total}
        case _:
            return {}
