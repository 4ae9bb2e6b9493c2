"""How the leg and notes are written down."""

from __future__ import annotations

WORDING = {
    "leg_mark": "{mark}|",
    "spoken_note": "Spoken note|",
}
