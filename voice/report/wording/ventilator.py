"""How the ventilator's settings and figures are written down."""

from __future__ import annotations

WORDING = {
    "ventilator_mode": "Ventilator mode|{mode}",
    "ventilator_rate": "Ventilator rate|{rate_per_min} /min",
    "tidal_volume": "Tidal volume|{volume_ml} mL",
    "minute_volume": "Minute volume|{volume_l_per_min} L/min",
    "peep": "PEEP|{value_cmh2o} cmH2O",
    "pressure_support": "Pressure support|{value_cmh2o} cmH2O",
    "peak_pressure": "Peak airway pressure|{value_cmh2o} cmH2O",
    "plateau_pressure": "Plateau pressure|{value_cmh2o} cmH2O",
    "inspired_oxygen": "Inspired oxygen|{percent} %",
}
