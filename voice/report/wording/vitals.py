"""How vital signs are written down."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.vitals import BloodPressure, TemperatureFahrenheit
from voice.figures.units import celsius, mean_arterial_mmhg
from voice.report.wording.numbers import number

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

WORDING = {
    "heart_rate": "Heart rate|{rate_per_min} /min",
    "blood_pressure": "Blood pressure|{systolic_mmhg}/{diastolic_mmhg} mmHg, mean {mean}",
    "systolic_pressure": "Systolic pressure|{value_mmhg} mmHg",
    "mean_pressure": "MAP|{value_mmhg} mmHg",
    "arterial_zeroed": "Arterial line zeroed|[at {reference}]",
    "saturation": "Saturation|{percent} %",
    "respirations": "Respirations|{rate_per_min} /min",
    "end_tidal_co2": "End-tidal CO2|{value_mmhg} mmHg",
    "end_tidal_co2_kpa": "End-tidal CO2|{value_kpa} kPa",
    "temperature": "Temperature|{value_celsius} °C",
    "temperature_fahrenheit": "Temperature|{value_fahrenheit} °F ({in_celsius} °C)",
}


def worked_out(entry: Entry) -> dict[str, str]:
    """What the wording needs beyond the entry's own fields."""
    match entry:
        case BloodPressure(systolic_mmhg=systolic, diastolic_mmhg=diastolic):
            return {"mean": number(round(mean_arterial_mmhg(systolic, diastolic)))}
        case TemperatureFahrenheit(value_fahrenheit=degrees):
            return {"in_celsius": number(round(celsius(degrees), 1))}
        case _:
            return {}
