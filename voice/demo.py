"""The demo leg: recordings of an invented leg, and what has to be in its journal at the end."""

from __future__ import annotations

import json
import tomllib
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import BaseModel, ConfigDict, TypeAdapter

from voice.capture.recordings import Cue
from voice.entries.kinds import Entry
from voice.entries.leg import EntryState

if TYPE_CHECKING:
    from voice.entries.leg import Leg, LegEntry

FOLDER = Path(__file__).parents[1] / "audio_fixtures" / "demo_leg"
PROMPT_S = 15.0
"""An entry is spoken at most so long after its cue: the recordings wait for read-backs to end."""


@dataclass(frozen=True, slots=True)
class Utterance:
    """One recording of the leg, when it is played and what is said in it."""

    cue: Cue
    text: str
    scene: str
    """What happens from here on, for whoever watches; mostly empty."""


class Expected(BaseModel):
    """An entry that has to be in the journal at the end."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    number: int
    at: str
    """When it is said, in minutes:seconds of the leg's recordings."""
    said: str
    entry: Entry
    state: EntryState
    replaces: int | None
    ago_min: int
    """How long before it was said it happened, in minutes."""


def utterances() -> tuple[Utterance, ...]:
    """All recordings of the leg, in order."""
    said = tomllib.loads((FOLDER / "leg.toml").read_text(encoding="utf-8"))["said"]
    return tuple(
        Utterance(
            Cue(FOLDER / "clips" / f"{number:03}.opus", seconds(one["at"])),
            one["text"],
            one.get("scene", ""),
        )
        for number, one in enumerate(said, start=1)
    )


def expected_entries() -> tuple[Expected, ...]:
    """What has to be in the journal, written down from what is meant in the recordings."""
    text = (FOLDER / "expected_entries.json").read_text(encoding="utf-8")
    return TypeAdapter(tuple[Expected, ...]).validate_python(json.loads(text))


def seconds(at: str) -> float:
    """``"12:30"`` as seconds."""
    minutes, rest = at.split(":")
    return 60 * int(minutes) + float(rest)


def differences(leg: Leg, expected: tuple[Expected, ...]) -> tuple[str, ...]:
    """A sentence for each way in which ``leg`` is not as expected; none where it is."""
    found = {entry.number: entry for entry in leg.entries}
    wanted = {one.number: one for one in expected}
    start_s = utterances()[0].cue.start_s
    told = []
    for number in sorted(found.keys() | wanted.keys()):
        if number not in found:
            told.append(f'Entry {number}, "{wanted[number].said}", is missing.')
        elif number not in wanted:
            told.append(f'Entry {number}, heard as "{found[number].heard}", is one too many.')
        else:
            after_start_s = (found[number].spoken_at - leg.started_at).total_seconds()
            due_s = seconds(wanted[number].at) - start_s
            told += _unlike(found[number], wanted[number], after_start_s - due_s)
    return tuple(told)


def _unlike(found: LegEntry, wanted: Expected, late_s: float) -> list[str]:
    # in whole minutes: a correction happened when the corrected entry did, some seconds earlier
    ago_min = round((found.spoken_at - found.happened_at) / timedelta(minutes=1))
    pairs = {
        "is": (found.entry, wanted.entry),
        "is in the state": (found.state, wanted.state),
        "corrects entry": (found.replaces, wanted.replaces),
        "happened before it was said by": (f"{ago_min} min", f"{wanted.ago_min} min"),
    }
    told = [
        f'Entry {wanted.number}, "{wanted.said}", {what} {got!s}, not {want!s}.'
        for what, (got, want) in pairs.items()
        if got != want
    ]
    if abs(late_s) > PROMPT_S:
        told.append(f'Entry {wanted.number}, "{wanted.said}", is {late_s:.0f} s off its time.')
    return told
