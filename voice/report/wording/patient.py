"""How the patient's position and troubles are written down."""

from __future__ import annotations

WORDING = {
    "head_of_bed": "Head of bed|{angle_deg} degrees",
}
