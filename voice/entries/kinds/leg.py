"""The leg as a whole: its times, who and what took part, and notes."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from voice.entries.frozen import Frozen

Role = Literal[
    "nurse", "physician", "paramedic", "respiratory therapist", "neurosurgeon", "intensivist",
    "anaesthetist", "perfusionist", "technician", "student", "pilot", "driver", "relative",
]  # fmt: skip
"""A person, by what he or she does; never by name."""

Vehicle = Literal["helicopter", "aeroplane", "ambulance", "stretcher", "bed"]

Contact = Literal[
    "accepting unit", "sending unit", "neurosurgeon", "physician", "dispatch", "family"
]
"""Whoever can be called."""


class LegMark(Frozen):
    """Something that happened to the transport as a whole.

    The times of a transport after the open data standard NEMSIS, version 3.5, section eTimes
    (docs/leg-times.md sets each beside the standard's).
    """

    kind: Literal["leg_mark"] = "leg_mark"
    mark: Literal[
        "request received", "request accepted", "crew notified", "at staging area", "en route",
        "at sending unit", "at patient", "care taken over", "loaded", "departed", "wheels up",
        "wheels down", "unloaded", "arrived", "handed over", "back in service", "back at base",
        "transport cancelled", "transport completed",
    ]  # fmt: skip


class PersonOnBoard(Frozen):
    """Somebody who travels along."""

    kind: Literal["person_on_board"] = "person_on_board"
    role: Role


class VehicleChange(Frozen):
    """What carries the patient from now on."""

    kind: Literal["vehicle_change"] = "vehicle_change"
    vehicle: Vehicle


class CabinAltitude(Frozen):
    """Altitude to whose pressure the cabin is set, or at which an open cabin flies."""

    kind: Literal["cabin_altitude"] = "cabin_altitude"
    altitude_ft: int = Field(ge=0, le=15_000)


class FlightAltitude(Frozen):
    """Altitude of the aircraft above sea level."""

    kind: Literal["flight_altitude"] = "flight_altitude"
    altitude_ft: int = Field(ge=0, le=50_000)


class Delay(Frozen):
    """What holds the transport up.

    After the kinds of delay in NEMSIS, version 3.5, section eResponse; those that an interfacility
    transport meets.
    """

    kind: Literal["delay"] = "delay"
    reason: Literal[
        "weather", "traffic", "mechanical", "equipment", "diversion", "waiting for bed",
        "waiting for crew", "waiting for elevator", "paperwork", "patient unstable", "security",
    ]  # fmt: skip


class UnitCalled(Frozen):
    """Somebody was called."""

    kind: Literal["unit_called"] = "unit_called"
    whom: Contact


class HandedOver(Frozen):
    """Care was handed over to somebody of this role."""

    kind: Literal["handed_over"] = "handed_over"
    to: Role


class SpokenNote(Frozen):
    """Free words; only their sound is kept."""

    kind: Literal["spoken_note"] = "spoken_note"


LegNews = (
    LegMark
    | PersonOnBoard
    | VehicleChange
    | CabinAltitude
    | FlightAltitude
    | Delay
    | UnitCalled
    | HandedOver
    | SpokenNote
)
"""What can be said of the leg."""
