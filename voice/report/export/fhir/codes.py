"""The codes of the FHIR export: what an entry is in LOINC, and its units in UCUM.

A LOINC code stands here only where its source is named. All else bears a local code, in a system
whose name says that it is legbook's own: no public code exists, or none was found (common practice,
no source). Every entry has its local code beside the LOINC one, so that none has to be guessed back.
"""

from __future__ import annotations

from typing import NamedTuple

LOINC = "http://loinc.org"
UCUM = "http://unitsofmeasure.org"

LOCAL = "urn:x-legbook:"
"""What every local system begins with. The names are not registered."""
KIND = f"{LOCAL}kind"
"""The kind of an entry, and ``kind.field`` for a part of it."""
ENTRY = f"{LOCAL}entry"
"""Leg and number of an entry."""
LEG = f"{LOCAL}leg"
"""The id of a leg."""
SEAL = f"{LOCAL}seal"
"""The seal of a leg's journal."""
DOCUMENT = f"{LOCAL}document"
"""A digest that stands for the seal where none may be named."""


class Code(NamedTuple):
    """A code of LOINC, with where it was found."""

    code: str
    source: str
    wider: str | None = None
    """A wider code that HL7's profile of the vital sign asks for beside it."""


_DESIGN = "DESIGN.md, check values"
_HL7 = "HL7, examples of FHIR R4"

KIND_CODES = {
    "pressure": Code("60956-0", _DESIGN),
    "drained": Code("9122-3", _DESIGN),
    "csf_clarity": Code("10333-3", _DESIGN),
    "csf_colour": Code("10335-8", _DESIGN),
    "heart_rate": Code("8867-4", _DESIGN),
    "respirations": Code("9279-1", _DESIGN),
    "blood_pressure": Code("85354-9", _DESIGN),
    "blood_pressure.systolic_mmhg": Code("8480-6", _DESIGN),
    "blood_pressure.diastolic_mmhg": Code("8462-4", _DESIGN),
    "systolic_pressure": Code("8480-6", _DESIGN),
    "mean_pressure": Code("8478-0", _DESIGN),
    "saturation": Code("59408-5", _DESIGN, wider="2708-6"),
    "end_tidal_co2": Code("19891-1", _DESIGN),
    "end_tidal_co2_kpa": Code("19891-1", _DESIGN),
    "temperature": Code("8310-5", _DESIGN),
    "temperature_fahrenheit": Code("8310-5", _DESIGN),
    "coma_score": Code("9269-2", _DESIGN),
    "coma_parts": Code("9269-2", _DESIGN),
    "coma_parts.eyes": Code("9267-6", _DESIGN),
    "coma_parts.verbal": Code("9270-0", _DESIGN),
    "coma_parts.motor": Code("9268-4", _DESIGN),
    "weight": Code("29463-7", _HL7),
    "perfusion": Code("61017-0", _DESIGN),
}
"""By kind, or ``kind.field``. ``perfusion`` is worked out, no entry."""

PUPIL_CODES = {
    ("size_mm", "right"): Code("8643-9", _DESIGN),
    ("size_mm", "left"): Code("8641-3", _DESIGN),
    ("reaction", "right"): Code("79815-7", _DESIGN),
    ("reaction", "left"): Code("79899-1", _DESIGN),
}
"""By what is told of a pupil, and its side."""

ANALYTE_CODES = {
    ("sodium", "mmol/L"): Code("2951-2", _DESIGN),
    ("osmolality", "mOsm/kg"): Code("2692-2", _DESIGN),
    ("potassium", "mmol/L"): Code("2823-3", _HL7),
    ("glucose", "mmol/L"): Code("15074-8", _HL7),
    ("haemoglobin", "g/dL"): Code("718-7", _HL7),
    ("haemoglobin", "g/L"): Code("718-7", _HL7),
    ("platelets", "10^9/L"): Code("777-3", _HL7),
    ("bicarbonate", "mmol/L"): Code("1963-8", _HL7),
    ("pCO2", "mmHg"): Code("11557-6", _HL7),
    ("pCO2", "kPa"): Code("11557-6", _HL7),
    ("base excess", "mmol/L"): Code("11555-0", _HL7),
}
"""By analyte and unit: a code of LOINC goes with a mass or with an amount of substance, not both."""

UNITS = {
    "mmHg": "mm[Hg]",
    "cmH2O": "cm[H2O]",
    "kPa": "kPa",
    "kg": "kg",
    "lb": "[lb_av]",
    "mmol/L": "mmol/L",
    "mg/dL": "mg/dL",
    "mOsm/kg": "mosm/kg",
    "g/dL": "g/dL",
    "g/L": "g/L",
    "10^9/L": "10*9/L",
    "s": "s",
    "mcg": "ug",
    "mg": "mg",
    "g": "g",
    "mL": "mL",
    "mmol": "mmol",
    "mEq": "meq",
    # International, USP or another: that was not said, so it is counted.
    "units": "{unit}",
    "mcg/kg/min": "ug/kg/min",
    "mcg/kg/h": "ug/kg/h",
    "mcg/min": "ug/min",
    "mcg/h": "ug/h",
    "mg/kg/h": "mg/kg/h",
    "mg/min": "mg/min",
    "mg/h": "mg/h",
    "g/h": "g/h",
    "mL/h": "mL/h",
    "units/min": "{unit}/min",
    "units/h": "{unit}/h",
    "mmol/h": "mmol/h",
}
"""The units that are said, in UCUM."""

FIELD_UNITS = {
    "_per_min": ("/min", "/min"),
    "volume_l_per_min": ("L/min", "L/min"),
    "_mmhg": ("mmHg", "mm[Hg]"),
    "_cmh2o": ("cmH2O", "cm[H2O]"),
    "_kpa": ("kPa", "kPa"),
    "_ml": ("mL", "mL"),
    "_celsius": ("°C", "Cel"),
    "_fahrenheit": ("°F", "[degF]"),
    "_mm": ("mm", "mm"),
    "_deg": ("degrees", "deg"),
    "_ft": ("ft", "[ft_i]"),
    "percent": ("%", "%"),
    "minutes": ("min", "min"),
    "hours": ("h", "h"),
    "count": ("times", "{count}"),
    "total": ("points", "{score}"),
    "score": ("points", "{score}"),
    "eyes": ("points", "{score}"),
    "verbal": ("points", "{score}"),
    "motor": ("points", "{score}"),
    "strength": ("of 5", "{score}"),
}
"""By the end of a field's name: the unit as it is written, and in UCUM."""


def unit_of(field: str) -> tuple[str, str] | None:
    """The unit that a field's name tells; the longest ending that fits counts."""
    fitting = [end for end in FIELD_UNITS if field.endswith(end)]
    return FIELD_UNITS[max(fitting, key=len)] if fitting else None
