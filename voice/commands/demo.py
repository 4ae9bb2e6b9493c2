"""The demo: invented legs in recordings, and what has to be in their journals at the end."""

from __future__ import annotations

import json
import tomllib
from collections import deque
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import TypeAdapter

from voice.capture.recordings import Cue, Pace
from voice.entries.errors import LegbookError
from voice.entries.frozen import Frozen
from voice.entries.kinds import Entry
from voice.entries.leg import EntryState
from voice.meaning.grammar import load_grammar
from voice.record import places
from voice.record.shelf import leg_ids
from voice.session.models import SHIPPED_MODEL
from voice.session.setups import Equipment, recorded

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from voice.entries.leg import Leg, LegEntry, LegSettings
    from voice.session.session import Session

FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
PROMPT_S = 15.0
"""An entry is spoken at most so long after its cue: the recordings wait for read-backs to end."""


class DemoLeg(StrEnum):
    """An invented leg that can be flown."""

    FIRST = "first"
    """Forty minutes in which little goes wrong; it shows each turn that the talk can take."""
    TROUBLED = "troubled"
    """An hour with a failed zero, an occlusion, a forgotten clamp and red fluid."""

    @property
    def folder(self) -> Path:
        """Where its recordings lie, what is said in them, and what is meant."""
        return FIXTURES / ("demo_leg" if self is DemoLeg.FIRST else f"{self}_leg")


@dataclass(frozen=True, slots=True)
class Utterance:
    """One recording of the leg, when it is played and what is said in it."""

    cue: Cue
    text: str
    scene: str
    """What happens from here on, for whoever watches; mostly empty."""


class Expected(Frozen):
    """An entry that has to be in the journal at the end."""

    number: int
    at: str
    """When it is said, in minutes:seconds of the leg's recordings."""
    said: str
    entry: Entry
    state: EntryState
    replaces: int | None
    ago_min: int
    """How long before it was said it happened, in minutes."""


def legs_root() -> Path:
    """Where invented legs are kept, apart from real ones."""
    return places.legs_root().parent / "demo"


def last_flown() -> Path:
    """The folder of the leg that was flown last.

    :raises LegbookError: where none was.
    """
    flown = leg_ids(legs_root())
    if not flown:
        raise LegbookError("No demo has been flown yet. Fly it with: legbook demo")
    return legs_root() / flown[-1]


def utterances(demo_leg: DemoLeg) -> tuple[Utterance, ...]:
    """All recordings of the leg, in order."""
    said = tomllib.loads((demo_leg.folder / "leg.toml").read_text(encoding="utf-8"))["said"]
    return tuple(
        Utterance(
            Cue(demo_leg.folder / "clips" / f"{number:03}.opus", seconds(one["at"])),
            one["text"],
            one.get("scene", ""),
        )
        for number, one in enumerate(said, start=1)
    )


def length_s(demo_leg: DemoLeg) -> float:
    """How long the leg lasts, in its own time: until its last recording is due."""
    return utterances(demo_leg)[-1].cue.start_s


def expected_entries(demo_leg: DemoLeg) -> tuple[Expected, ...]:
    """What has to be in the journal, written down from what is meant in the recordings."""
    text = (demo_leg.folder / "expected_entries.json").read_text(encoding="utf-8")
    return TypeAdapter(tuple[Expected, ...]).validate_python(json.loads(text))


class Scenes:
    """What happens in the leg, for whoever watches, each told once."""

    def __init__(self, demo_leg: DemoLeg, started_at: datetime) -> None:
        self._started_at = started_at
        self._left = deque((u.cue.start_s, u.scene) for u in utterances(demo_leg) if u.scene)

    def until(self, at: datetime) -> Iterator[str]:
        """The scenes that have begun since the last call."""
        at_s = (at - self._started_at).total_seconds()
        while self._left and self._left[0][0] <= at_s:
            yield self._left.popleft()[1]


def session(  # noqa: PLR0913 - named at every call
    demo_leg: DemoLeg,
    root: Path,
    settings: LegSettings,
    started_at: datetime,
    *,
    fast: bool,
    mixdown_file: Path,
) -> Session:
    """The leg, ready to run; its journal will lie in a new folder under ``root``.

    :param started_at: an aware time; it becomes 00:00 of the leg.
    :param fast: as fast as can be computed, in silence; else in real time and aloud.
    :raises LegbookError: where the model, the synthesiser or the file cannot be used.
    """
    return recorded(
        Equipment(root=root, settings=settings, model=SHIPPED_MODEL, grammar=load_grammar()),
        [utterance.cue for utterance in utterances(demo_leg)],
        started_at,
        pace=Pace.FAST if fast else Pace.REAL,
        mixdown_file=mixdown_file,
    )


def seconds(at: str) -> float:
    """``"12:30"`` as seconds."""
    minutes, rest = at.split(":")
    return 60 * int(minutes) + float(rest)


def differences(leg: Leg, demo_leg: DemoLeg, expected: tuple[Expected, ...]) -> tuple[str, ...]:
    """A sentence for each way in which ``leg`` is not as expected; none where it is."""
    found = {entry.number: entry for entry in leg.entries}
    wanted = {one.number: one for one in expected}
    start_s = utterances(demo_leg)[0].cue.start_s
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
