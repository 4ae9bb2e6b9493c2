"""Every kind of entry a leg can hold: its fields, their units and ranges, one module a subject.

The ranges are those of what can be said and written down, not of what is normal: an entry outside
them was misheard. They are common practice, no source, unless a field says otherwise.

The phrases by which an entry is said stand in ``grammar/``, under the entry's ``kind``.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from voice.entries.kinds.checks import CheckEntry
from voice.entries.kinds.drain import DrainEntry
from voice.entries.kinds.drain_care import DrainCareEntry
from voice.entries.kinds.drugs import DrugEntry
from voice.entries.kinds.fluids import FluidEntry
from voice.entries.kinds.laboratory import LaboratoryEntry
from voice.entries.kinds.leg import LegNews
from voice.entries.kinds.neuro import NeuroEntry
from voice.entries.kinds.order import OrderEntry
from voice.entries.kinds.patient import PatientEntry
from voice.entries.kinds.ventilator import VentilatorEntry
from voice.entries.kinds.vitals import VitalEntry

Entry = Annotated[
    DrainEntry
    | DrainCareEntry
    | OrderEntry
    | VitalEntry
    | NeuroEntry
    | PatientEntry
    | VentilatorEntry
    | FluidEntry
    | DrugEntry
    | LaboratoryEntry
    | LegNews
    | CheckEntry,
    Field(discriminator="kind"),
]
"""Any kind of entry; the field ``kind`` tells which."""

__all__ = ["Entry"]
