"""How the leg and notes are written down."""

from __future__ import annotations

WORDING = {
    "leg_mark": "{mark}|",
    "person_on_board": "On board|{role}",
    "vehicle_change": "Moved to|{vehicle}",
    "cabin_altitude": "Cabin altitude|{altitude_ft} ft",
    "flight_altitude": "Flight altitude|{altitude_ft} ft",
    "delay": "Delay|{reason}",
    "unit_called": "Called|{whom}",
    "handed_over": "Handed over to|{to}",
    "spoken_note": "Spoken note|",
}
