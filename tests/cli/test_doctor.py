"""What the doctor says of each thing, well and ill."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from datetime import UTC, datetime
from types import SimpleNamespace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from tests.pulse import sound_server
from voice.capture.devices import Device
from voice.capture.speaker import SpeakerError
from voice.commands import doctor
from voice.commands.doctor import Finding, State
from voice.entries.heard import Block
from voice.session import preferences
from voice.session.beside import Beside
from voice.session.preferences import Preferences, SecondListener
from voice.session.second_listener import Found

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

NOW = datetime(2031, 5, 1, 14, 0, tzinfo=UTC)


def examined(subject: str) -> Finding:
    """What the doctor finds of one thing."""
    (finding,) = (one for one in doctor.examine(NOW, ask=lambda _: None) if one.subject == subject)
    return finding


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A machine without sound devices, and hearing that takes no time."""

    def none_there(*_: object) -> None:
        raise SpeakerError("No sound.")

    monkeypatch.setattr(doctor, "Microphone", none_there)
    monkeypatch.setattr(doctor, "Speaker", none_there)
    monkeypatch.setattr(doctor, "devices", lambda _: ())
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    monkeypatch.setattr(doctor, "find_second", lambda *_, **__: Found(None, "It is off."))
    monkeypatch.setattr(doctor, "hear", lambda _: [SimpleNamespace(text=doctor.TEST_PHRASE)])


def test_the_test_recording_says_the_test_phrase() -> None:
    """The recording that hearing is tried on is the one with the test phrase in it."""
    said = (doctor.TEST_RECORDING.parents[1] / "leg.toml").read_text(encoding="utf-8")
    row = [line for line in said.splitlines() if line.strip().startswith("{")][5]
    assert f'text = "{doctor.TEST_PHRASE}"' in row
    assert doctor.TEST_RECORDING.name == "006.opus"


def test_a_second_listener_that_is_not_as_chosen_is_to_be_looked_at(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The doctor tells whether there is one and why; it is let go again."""
    assert examined("second") == Finding("second", State.WORKS, "It is off.")
    beside = Beside({})
    slow = Found(beside, "Too slow.", as_chosen=False)
    monkeypatch.setattr(doctor, "find_second", lambda *_, **__: slow)
    assert examined("second") == Finding("second", State.LOOK, "Too slow.")


def test_hearing_that_mishears_is_broken(monkeypatch: pytest.MonkeyPatch) -> None:
    """A test phrase that is heard as another one is told with both."""
    monkeypatch.setattr(doctor, "hear", lambda _: [SimpleNamespace(text="pressure forty")])
    found = examined("hearing")
    assert found.state is State.BROKEN
    assert '"pressure fourteen" was heard as "pressure forty"' in found.text


@pytest.mark.parametrize(
    ("loudest", "offset", "state", "sentence"),
    [
        (0, 0, State.LOOK, "silence only"),
        (0, 700, State.LOOK, "silence only"),
        (40_000, 0, State.LOOK, "Turn its level down"),
        (200, 0, State.LOOK, "too faint: the loudest was 44 dB below"),
        (3277, 6000, State.LOOK, "shifted by 18% of full scale"),
        (3277, 0, State.WORKS, "good level: the loudest was 20 dB below full scale"),
    ],
)
def test_the_microphone_is_judged_by_its_sound(
    monkeypatch: pytest.MonkeyPatch, loudest: int, offset: int, state: State, sentence: str
) -> None:
    """Silence, overload, faint and shifted sound are told apart from sound as it should be."""
    monkeypatch.setattr(doctor, "Microphone", microphone_of(loudest, offset))
    found = examined("microphone")
    assert found.state is state
    assert sentence in found.text


def test_telephone_sound_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A headset that gives 8 kHz works, and a person should know of it."""
    monkeypatch.setattr(doctor, "Microphone", microphone_of(3277, 0))
    headset = Device("Headset", "pulse", "headset", 8000, usual=True)
    monkeypatch.setattr(doctor, "devices", lambda _: (headset,))
    found = examined("microphone")
    assert found.state is State.LOOK
    assert "telephone sound" in found.text


def microphone_of(loudest: int, offset: int) -> type:
    """A microphone that gives a tone, cut off where it is too loud."""
    tone = loudest * np.sin(2 * np.pi * 440 * np.arange(16_000) / 16_000) + offset

    class Microphone:
        def __init__(self, *_: object) -> None:
            pass

        def blocks(self) -> Iterator[Block]:
            for second in range(6):
                yield Block(second, tone.clip(-32768, 32767).astype(np.int16))

    return Microphone


def by_command(environment: dict[str, str]) -> subprocess.CompletedProcess[str]:
    """``legbook doctor`` in a process of its own: PortAudio looks for devices once a process."""
    # the second listener has tests of its own, and takes seconds to load
    preferences.save(Preferences(second=SecondListener.OFF))
    command = [sys.executable, "-m", "voice.cli", "doctor"]
    return subprocess.run(
        command, env=os.environ | environment, capture_output=True, text=True, check=False
    )


def test_a_speaker_and_a_microphone_that_are_there_are_tried() -> None:
    """On a machine with a sound server the speaker speaks and the microphone is listened to."""
    with sound_server() as server:
        done = by_command(server.environment)
    assert (
        'works   hearing     A test recording was heard right: "pressure fourteen"' in done.stdout
    )
    assert "look    microphone  The microphone gives silence only." in done.stdout
    assert 'works   speaker     It just said "legbook".' in done.stdout
    assert done.returncode == 0


def test_a_machine_without_sound_is_told_what_to_plug_in() -> None:
    """A missing microphone and a missing speaker are broken, the rest is still tried."""
    done = by_command({"PULSE_SERVER": "none"})
    assert "broken  microphone  There is no microphone." in done.stdout
    assert "broken  speaker     There is no speaker" in done.stdout
    assert [line.split()[1] for line in done.stdout.splitlines()] == [
        "hearing", "second", "microphone", "speaker", "speech", "disk", "spare", "clock"
    ]  # fmt: skip
    assert done.returncode == 1


def test_little_room_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that may not hold a long leg is looked at before the leg."""
    monkeypatch.setattr(shutil, "disk_usage", lambda _: SimpleNamespace(free=400_000_000))
    found = examined("disk")
    assert found.state is State.LOOK
    assert "Only 400 MB are free" in found.text


def test_a_folder_that_cannot_be_written_is_broken(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Where legs cannot be kept, the folder and the way out are named."""
    monkeypatch.setenv("LEGBOOK_HOME", "/proc/legbook")
    found = examined("disk")
    assert found.state is State.BROKEN
    assert "/proc/legbook/legs" in found.text
    assert "LEGBOOK_HOME" in found.text
    assert not list(tmp_path.iterdir())


def test_a_spare_folder_that_cannot_be_written_is_broken(monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk on which a leg would go on is tried like the first; without one, that is told."""
    monkeypatch.delenv("LEGBOOK_SPARE", raising=False)
    assert examined("spare").state is State.LOOK
    monkeypatch.setenv("LEGBOOK_SPARE", "/proc/spare")
    found = examined("spare")
    assert found.state is State.BROKEN
    assert "/proc/spare/legs" in found.text


@pytest.mark.parametrize(
    ("said", "state"), [("yes\n", State.WORKS), ("no\n", State.LOOK), (None, State.LOOK)]
)
def test_a_clock_that_no_network_has_set_is_shown_to_a_person(
    monkeypatch: pytest.MonkeyPatch, said: str | None, state: State
) -> None:
    """Only where the system vouches for its clock does nobody have to look."""
    really = subprocess.run

    def run(command: list[str], **options: object) -> object:
        if command[0] != "timedatectl":
            return really(command, **options)  # type: ignore[call-overload]
        if said is None:
            raise FileNotFoundError
        return SimpleNamespace(stdout=said)

    monkeypatch.setattr(subprocess, "run", run)
    found = examined("clock")
    assert found.state is state
    assert "2031-05-01 14:00:00" in found.text
