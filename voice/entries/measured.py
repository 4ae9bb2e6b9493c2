"""The kinds of entry that measure something which has a course over time, and where the value is.

A dose, a volume said or an order is no measurement in this sense: its mean or slope tells nothing.
"""

from __future__ import annotations

MEASURED = {
    "pressure": "value",
    "heart_rate": "rate_per_min",
    "blood_pressure": "systolic_mmhg",
    "systolic_pressure": "value_mmhg",
    "mean_pressure": "value_mmhg",
    "saturation": "percent",
    "respirations": "rate_per_min",
    "end_tidal_co2": "value_mmhg",
    "end_tidal_co2_kpa": "value_kpa",
    "temperature": "value_celsius",
    "temperature_fahrenheit": "value_fahrenheit",
    "coma_score": "total",
    "laboratory": "value",
    "ventilator_rate": "rate_per_min",
    "tidal_volume": "volume_ml",
    "minute_volume": "volume_l_per_min",
    "peep": "value_cmh2o",
    "pressure_support": "value_cmh2o",
    "peak_pressure": "value_cmh2o",
    "plateau_pressure": "value_cmh2o",
    "inspired_oxygen": "percent",
}
"""By kind, the field that holds the value."""
