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
from voice.entries.leg import LegSettings
from voice.meaning.checklist import FOLDER
from voice.record import protecting, protection
from voice.record.journal import Journal
from voice.record.protection import KEY_FILE, OPENED, PASSPHRASE
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
        "hearing", "second", "lists", "microphone", "speaker", "speech", "disk", "spare", "protection",
        "files", "clock",
    ]  # fmt: skip
    assert done.returncode == 1


def test_a_check_list_that_no_leg_begins_with_is_told(tmp_path: Path) -> None:
    """A programme's own list with a fault is broken before the flight, with its file and item."""
    folder = tmp_path / "phrases" / "own" / "checks"
    folder.mkdir(parents=True)
    shipped = (FOLDER / "before_move.toml").read_text("utf-8")
    (folder / "ours.toml").write_text(shipped)
    assert examined("lists").state is State.WORKS
    (folder / "ours.toml").write_text(shipped.replace("drain_clamped", "drain_clampd"))
    found = examined("lists")
    assert found.state is State.BROKEN
    assert found.text.startswith('ours.toml, item "drain clamped": there is no kind of entry')


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


@pytest.fixture
def keys(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Keys of this test only, opened in no time."""
    for name in ("LEGBOOK_SPARE", PASSPHRASE, KEY_FILE):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(protection, "COST", 2)
    OPENED.forget()
    yield
    OPENED.forget()


@pytest.mark.usefixtures("keys")
def test_legs_in_clear_are_to_be_looked_at() -> None:
    """Where legs are not encrypted, or no longer, the doctor says what a stranger can read and what to do."""
    found = examined("protection")
    assert found.state is State.LOOK
    assert "kept in clear" in found.text
    protecting.switch_on(b"tall pines and rain")
    protecting.switch_off()
    found = examined("protection")
    assert found.state is State.LOOK
    assert "legbook protect off" in found.text


@pytest.mark.usefixtures("keys")
def test_a_passphrase_is_tried_where_it_is_known(monkeypatch: pytest.MonkeyPatch) -> None:
    """One in the environment is tried, and a wrong one is broken; without it, it is told that nothing was tried."""
    protecting.switch_on(b"tall pines and rain")
    found = examined("protection")
    assert found.state is State.WORKS
    assert "not tried" in found.text
    for given, state in (("tall pines and rain", State.WORKS), ("another day", State.BROKEN)):
        OPENED.forget()
        monkeypatch.setenv(PASSPHRASE, given)
        assert examined("protection").state is state


@pytest.mark.usefixtures("keys")
def test_a_key_file_has_to_be_where_it_is_looked_for(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The doctor names the place, and a stick that is not in the machine is broken before the leg."""
    stick = tmp_path / "stick"
    stick.write_bytes(b"k" * 32)
    protecting.switch_on(stick.read_bytes(), stick)
    OPENED.forget()
    assert examined("protection") == Finding(
        "protection", State.WORKS, f"Legs are encrypted, and the key file {stick} opens them."
    )
    OPENED.forget()
    monkeypatch.setenv(KEY_FILE, str(tmp_path / "other"))
    found = examined("protection")
    assert found.state is State.BROKEN
    assert str(tmp_path / "other") in found.text


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps rights in lists")
@pytest.mark.usefixtures("keys")
def test_files_that_others_can_read_are_told(tmp_path: Path) -> None:
    """Of what legbook wrote nothing can be read by others; of what somebody made readable, the first is named."""
    with Journal.create(
        tmp_path / "legs" / "leg", LegSettings(), NOW, grammar_digest="", model_digest=""
    ) as journal:
        journal.add_clip(np.zeros(1600, dtype=np.int16))
    protecting.switch_on(b"tall pines and rain")
    assert examined("files").state is State.WORKS
    copied = tmp_path / "legs" / "leg" / "clips" / "0001.flac"
    copied.chmod(0o644)
    found = examined("files")
    assert found.state is State.LOOK
    assert f"1 files or folders of legs, the first is {copied}" in found.text
    assert f"chmod -R go= {tmp_path / 'legs'}" in found.text


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
