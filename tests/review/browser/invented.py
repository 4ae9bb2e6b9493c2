"""An invented leg with everything that a reviewer meets, each with a short sound."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Literal

import numpy as np

from tests.review.flight import Flight, When
from voice.entries.heard import SAMPLE_RATE
from voice.meaning.decision import Doubt, NotForUs, NotUnderstood

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

START = datetime(2026, 5, 1, 14, 0, tzinfo=UTC)
_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Said:
    """One stretch of speech, with what else it may have been."""

    text: str
    rivals: tuple[str, ...] = ()
    became: Literal["confirmed", "unconfirmed", "note", "nothing", "other talk"] = "confirmed"
    sound_s: float = 0.3
    samples: NDArray[np.int16] | None = None
    """Its sound; else a tone."""


LEG = (
    Said("order call above twenty two"),
    Said("drain level ten above tragus"),
    Said("mean pressure eighty two"),
    Said("pressure fourteen", ("pressure forty",)),
    Said("pressure fifteen", ("pressure fifty",), "unconfirmed"),
    Said("pressure sixteen", ("pressure sixty",)),
    Said("pressure seventeen"),
    Said("heart rate eighty eight"),
    Said("heart rate ninety"),
    Said("heart rate ninety two"),
    Said("oxygen ninety seven"),
    Said("oxygen ninety six"),
    Said("oxygen ninety eight"),
    Said("wheels up"),
    Said("drain clamped"),
    Said("drain open"),
    Said("mannitol fifty grams", ("mannitol fifteen grams",)),
    Said("chamber at ten"),
    Said("chamber at sixteen"),
    Said("", became="note"),
    Said("", became="note"),
    Said("pressure nineteen", ("pressure ninety",), "nothing"),
    Said("pressure eighteen", ("pressure eighty",), "nothing"),
    Said("", became="other talk"),
    Said("carbon dioxide thirty six"),
    Said("carbon dioxide thirty eight"),
)
"""A minute apart; those that became something are entries 1, 2, 3 …"""


def write_leg(folder: Path, said: tuple[Said, ...] = LEG, apart: timedelta = _MINUTE) -> None:
    """Write the leg into a new folder, with its sounds; it has ended."""
    flight = Flight(folder.parent, When(folder.name, START, apart=apart))
    for one in said:
        _fly(flight, one)
    flight.end()


def _fly(flight: Flight, one: Said) -> None:
    sound = _tone(one.sound_s) if one.samples is None else one.samples
    match one.became:
        case "note":
            flight.note(sound)
        case "other talk":
            flight.hear(NotForUs(), "[unk]", sound=sound)
        case "nothing":
            decision = NotUnderstood(doubt=Doubt.CLOSE)
            flight.hear(decision, one.text, *one.rivals, "[unk]", sound=sound)
        case "confirmed" | "unconfirmed":
            confirm = one.became == "confirmed"
            flight.say(one.text, *one.rivals, confirm=confirm, sound=sound)


def _tone(length_s: float) -> NDArray[np.int16]:
    at = np.arange(round(length_s * SAMPLE_RATE)) / SAMPLE_RATE
    return np.asarray(4000 * np.sin(2 * np.pi * 440 * at), dtype=np.int16)
