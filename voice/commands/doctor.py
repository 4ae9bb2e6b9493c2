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
from typing import TYPE_CHECKING

import numpy as np

from voice.capture.devices import Direction, devices
from voice.capture.level import level
from voice.capture.microphone import Microphone
from voice.capture.speaker import Speaker
from voice.commands.hear import hear
from voice.commands.protect import unprotected_beside_protected
from voice.entries.errors import LegbookError
from voice.entries.heard import SAMPLE_RATE
from voice.entries.leg import LegSettings
from voice.meaning.checklist import load_checklists
from voice.meaning.handoff import load_needs
from voice.record.durable import open_to_others
from voice.record.places import legs_root, spare_root
from voice.record.protection import OPENED, PASSPHRASE, key_file_of, own_files, own_lock
from voice.session import preferences
from voice.session.models import chosen_model
from voice.session.own_phrases import checklist_folders, chosen_grammar, handoff_lists
from voice.session.second_listener import TRIAL_RECORDING, TRIAL_STATE, find_second
from voice.speech.synthesiser import system_synthesiser

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime
    from pathlib import Path

    from voice.capture.level import Level

TEST_RECORDING = TRIAL_RECORDING
TEST_PHRASE = "pressure fourteen"
LISTEN_S = 3.0
"""How long the microphone is listened to: for a phrase."""
FAINT_DBFS = -35.0
"""Speech whose loudest sample is below that is too faint. It is made louder before it is heard: of 57 clips of the
demo legs 55 are then heard right at -40 dBFS, and 52 at -45; but what 16 bits do not hold comes not back
(docs/bench.md, "Devices")."""
OFFSET = 0.05
"""A constant part of the sound beyond which something is broken (no source)."""
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


def examine(now: datetime, ask: Callable[[str], None]) -> Iterator[Finding]:
    """Try everything, one thing after the other; takes some seconds.

    :param now: the time of day, to be shown to a person who has a watch.
    :param ask: asks the person to do something, now.
    """
    checks: dict[str, Callable[[], tuple[State, str]]] = {
        "hearing": _hearing,
        "second": _second,
        "lists": _lists,
        "microphone": lambda: _microphone(ask),
        "speaker": _speaker,
        "speech": _speech,
        "disk": lambda: _disk(legs_root(), "LEGBOOK_HOME"),
        "spare": _spare_disk,
        "protection": _protection,
        "files": _files,
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


def _second() -> tuple[State, str]:
    """Whether a second listener hears beside the first, tried as before a leg."""
    chosen = preferences.load().second
    found = find_second(chosen, chosen_model(), chosen_grammar(), states={TRIAL_STATE})
    if found.beside is not None:
        found.beside.close()
    return State.WORKS if found.as_chosen else State.LOOK, found.told


def _lists() -> tuple[State, str]:
    """The check lists and the list of a handoff, without which no leg begins."""
    checks = load_checklists(chosen_grammar(), LegSettings(), *checklist_folders())
    load_needs(*handoff_lists())
    return State.WORKS, f"Checks that can be asked for: {', '.join(checks)}."


def _microphone(ask: Callable[[str], None]) -> tuple[State, str]:
    chosen = preferences.load().microphone
    blocks = Microphone(chosen, time.monotonic).blocks()
    first = next(blocks)
    ask(f"Say something now, as on the leg; it is listened to for {LISTEN_S:.0f} seconds.")
    rest = takewhile(lambda block: block.start_s < first.end_s + LISTEN_S, blocks)
    state, text = judged(level(np.concatenate([block.samples for block in rest])))
    if state is State.WORKS and _is_telephone(chosen):
        return State.LOOK, (
            f"{text} It gives telephone sound only, as wireless headsets do: it is heard a little "
            "worse. A headset on a cable is better."
        )
    return state, text


def judged(found: Level) -> tuple[State, str]:
    """What to say of a microphone into which somebody has just spoken."""
    loudest = f"the loudest was {-found.loudest_dbfs:.0f} dB below full scale"
    if found.dead:
        return State.LOOK, "The microphone gives silence only. Is it muted, or its plug loose?"
    if found.clipped:
        return State.LOOK, (
            f"The microphone is too loud and distorts ({found.clipped} times in "
            f"{LISTEN_S:.0f} seconds). Turn its level down, or move it away from the mouth."
        )
    if found.loudest_dbfs < FAINT_DBFS:
        return State.LOOK, (
            f"The microphone is too faint: {loudest}. Turn its level up, or move it to the mouth; "
            "if you said nothing, try again."
        )
    if abs(found.offset) > OFFSET:
        return State.LOOK, (
            f"The microphone's sound is shifted by {abs(found.offset):.0%} of full scale. It is "
            "heard all the same, but its adapter or plug may be broken."
        )
    return State.WORKS, f"Sound comes in at a good level: {loudest}."


def _is_telephone(name: str) -> bool:
    """Whether a microphone is known to give less than what speech holds."""
    return any(one.rate_hz < SAMPLE_RATE for one in devices(Direction.INPUT) if one.is_used(name))


def _speaker() -> tuple[State, str]:
    with Speaker(preferences.load().speaker, time.monotonic) as speaker:
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


def _protection() -> tuple[State, str]:
    """Whether legs are encrypted, and whether what opens them is here."""
    lock = own_lock()
    if lock is None:
        return State.LOOK, unprotected_beside_protected() or (
            "Legs are kept in clear: whoever has the disk can read them. "
            "Encrypt them with: legbook protect on"
        )
    if not lock.on:
        return State.LOOK, (
            "Switching protection off was broken off: new legs are kept in clear, and some are still "
            "encrypted. Go on with: legbook protect off"
        )
    if lock.renewing:
        return State.LOOK, (
            "Legs are encrypted, but some are still under the key of before. Go on with: legbook protect on"
        )
    if lock.opens == "key file":
        where = f"the key file {key_file_of(lock)}"
    elif OPENED.given is not None:
        where = f"the passphrase in {PASSPHRASE}"
    else:
        return State.WORKS, (
            f"Legs are encrypted. The passphrase is asked for before a leg; it was not tried, and is not in {PASSPHRASE}."
        )
    OPENED.key(lock)
    return State.WORKS, f"Legs are encrypted, and {where} opens them."


def _files() -> tuple[State, str]:
    """Whether nobody but their owner can read what is kept."""
    roots = [root for root in (legs_root(), spare_root()) if root is not None]
    found = [path for root in roots for path in open_to_others(root)]
    found += [file for file in own_files() for file in open_to_others(file)]
    if found:
        return State.LOOK, (
            f"Other users of this machine may get at {len(found)} files or folders of legs, the first is "
            f"{found[0]}. Take their rights away with: chmod -R go= {' '.join(map(str, roots))}"
        )
    return State.WORKS, "Nobody but their owner can read the files of legs."


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
