"""Before a leg: whether everything works that the leg will need.

Each check tries the thing itself, as the leg would use it, and says in a sentence what it found
and what to do. Nothing is kept.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
import time
from dataclasses import dataclass
from enum import StrEnum
from itertools import takewhile
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from voice.capture.microphone import Microphone
from voice.capture.speaker import Speaker
from voice.commands.hear import hear
from voice.entries.errors import LegbookError
from voice.record.shelf import legs_root, spare_root
from voice.speech.synthesiser import system_synthesiser

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

TEST_RECORDING = Path(__file__).parents[2] / "audio_fixtures" / "demo_leg" / "clips" / "006.opus"
TEST_PHRASE = "pressure fourteen"
LISTEN_S = 1.0
"""How long the microphone is listened to."""
LEG_MB = 1000
"""Room for a long leg: eight hours of speech without a pause are 922 MB before compression."""


class State(StrEnum):
    """How it stands with one thing."""

    WORKS = "works"
    LOOK = "look"
    """It works, or may work, but a person should look at it."""
    BROKEN = "broken"


@dataclass(frozen=True, slots=True)
class Finding:
    """What was found out about one thing; ``text`` says what to do where something is wrong."""

    subject: str
    state: State
    text: str


class _CheckError(LegbookError):
    """A check that found its subject broken."""


def examine(now: datetime) -> Iterator[Finding]:
    """Try everything, one thing after the other; takes some seconds.

    :param now: the time of day, to be shown to a person who has a watch.
    """
    checks: dict[str, Callable[[], tuple[State, str]]] = {
        "hearing": _hearing,
        "microphone": _microphone,
        "speaker": _speaker,
        "speech": _speech,
        "disk": lambda: _disk(legs_root(), "LEGBOOK_HOME"),
        "spare": _spare_disk,
        "clock": lambda: _clock(now),
    }
    for subject, check in checks.items():
        try:
            state, text = check()
        except LegbookError as error:
            state, text = State.BROKEN, str(error)
        yield Finding(subject, state, text)


def _hearing() -> tuple[State, str]:
    """The model is whole, takes the grammar, and makes out a phrase."""
    started_s = time.perf_counter()
    heard = [segment.text for segment in hear([TEST_RECORDING])]
    took_s = time.perf_counter() - started_s
    if heard != [TEST_PHRASE]:
        raise _CheckError(
            f'A test recording of "{TEST_PHRASE}" was heard as "{" … ".join(heard)}". '
            "Put the model and the grammar back from a fresh copy of the project."
        )
    return State.WORKS, f'A test recording was heard right: "{TEST_PHRASE}" ({took_s:.1f} s).'


def _microphone() -> tuple[State, str]:
    blocks = Microphone(None, time.monotonic).blocks()
    first = takewhile(lambda block: block.start_s < LISTEN_S, blocks)
    sound = np.concatenate([block.samples for block in first])
    loudest_dbfs = 20 * np.log10(max(1, np.abs(sound.astype(np.int32)).max()) / 32768)
    if not sound.any():
        return State.LOOK, "The microphone gives silence only. Is it muted?"
    if loudest_dbfs > -1:
        return State.LOOK, "The microphone is too loud and distorts. Turn its level down."
    return State.WORKS, f"Sound comes in; the loudest was {loudest_dbfs:.0f} dB below full scale."


def _speaker() -> tuple[State, str]:
    with Speaker(None, time.monotonic) as speaker:
        sound = system_synthesiser().speak("legbook")
        time.sleep(max(0.0, speaker.play(sound.samples, sound.rate_hz) - time.monotonic()))
    return State.WORKS, 'It just said "legbook". Was it loud enough for the cabin?'


def _speech() -> tuple[State, str]:
    started_s = time.perf_counter()
    system_synthesiser().speak(TEST_PHRASE)
    took_s = time.perf_counter() - started_s
    return State.WORKS, f'"{TEST_PHRASE}" was spoken into a file in {took_s:.1f} s.'


def _spare_disk() -> tuple[State, str]:
    root = spare_root()
    if root is None:
        return State.LOOK, (
            "None is named: if the disk fails in mid-leg, nothing more can be written. "
            "Name a folder on another disk in LEGBOOK_SPARE."
        )
    return _disk(root, "LEGBOOK_SPARE")


def _disk(root: Path, variable: str) -> tuple[State, str]:
    there = next(folder for folder in (root, *root.parents) if folder.exists())
    try:
        with tempfile.TemporaryFile(dir=there) as file:
            file.write(b"legbook")
        free_mb = shutil.disk_usage(there).free // 1_000_000
    except OSError as error:
        raise _CheckError(
            f"Legs cannot be kept in {root} ({error.strerror}). "
            f"Make the folder writable, or name another in {variable}."
        ) from None
    if free_mb < LEG_MB:
        return State.LOOK, f"Only {free_mb} MB are free for legs in {root}. Make room: {LEG_MB} MB."
    return State.WORKS, f"{free_mb / 1000:.0f} GB are free for legs in {root}."


def _clock(now: datetime) -> tuple[State, str]:
    shown = now.strftime("%Y-%m-%d %H:%M:%S (UTC%z)")
    if _clock_is_set_by_network():
        return State.WORKS, f"It is {shown}, set by the network."
    return State.LOOK, f"It is {shown}. Is that right? No network has set it."


def _clock_is_set_by_network() -> bool:
    """Whether the system says so; where it does not say, a person has to look."""
    command = ["timedatectl", "show", "--property=NTPSynchronized", "--value"]
    try:
        said = subprocess.run(command, check=False, capture_output=True, text=True, timeout=5)
    except (OSError, subprocess.TimeoutExpired):
        return False
    return said.stdout.strip() == "yes"
