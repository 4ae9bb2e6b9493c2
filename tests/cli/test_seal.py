"""The commands that seal a leg, and what is told of it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from typer.testing import CliRunner

from tests.record.conftest import heard, sound
from voice import cli
from voice.commands.export import Form, export_leg, prove, summary_of_export
from voice.commands.keys import PASSPHRASE, own_key_file
from voice.entries.errors import LegbookError
from voice.entries.leg import LegSettings
from voice.entries.review import Reviewer
from voice.record.desk_events import Commented, SignedOff
from voice.record.events import LegEnded
from voice.record.journal import Journal
from voice.record.shelf import verify
from voice.record.signing import KeyLockedError, read_key
from voice.report.export.document import from_json, to_json

if TYPE_CHECKING:
    from pathlib import Path

START = datetime(2031, 5, 1, 14, 0, tzinfo=UTC)
REVIEWER = Reviewer(name="A. Reviewer", role="flight nurse")


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Legs and keys of this test only."""
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    monkeypatch.delenv("LEGBOOK_SPARE", raising=False)
    monkeypatch.delenv(PASSPHRASE, raising=False)
    monkeypatch.setenv("COLUMNS", "300")


def leg(tmp_path: Path, hour: int, *, signed: bool = True) -> Path:
    """The folder of a leg that ended, and was signed off or not."""
    start = START + timedelta(hours=hour)
    folder = tmp_path / "legs" / f"{start:%Y-%m-%d-%H%M}"
    with Journal.create(
        folder, LegSettings(), start, grammar_digest="", model_digest=""
    ) as journal:
        journal.append(LegEnded(at=start))
        if signed:
            journal.append(SignedOff(at=start, by=REVIEWER, sounds=0, listened_to=0))
    return folder


def run(*arguments: str, told: str | None = None) -> str:
    """What a command shows; where it refuses, why."""
    done = CliRunner().invoke(cli.app, arguments, input=told)
    if isinstance(done.exception, LegbookError):
        return str(done.exception)
    return done.output


def test_a_leg_is_sealed_signed_and_told_so(tmp_path: Path) -> None:
    """From the key to the proof: made, shown, signed with, listed, and verified with the public key."""
    folder = leg(tmp_path, 0)
    assert "It is not sealed: more can be added" in run("verify")
    assert "Make one with: legbook key make" in run("seal", folder.name, "--sign")
    assert str(own_key_file()) in run("key", "make", "A. Reviewer, flight nurse")
    public = run("key", "show").split()[-1]
    assert "signed with the key of A. Reviewer, flight nurse" in run("seal", "1400", "--sign")
    assert "sealed, signed" in run("legs")
    shown = run("verify", "1400", "--key", public)
    assert "A. Reviewer, flight nurse, signed it off at 2031-05-01 14:00." in shown
    assert "The signature holds, and it is of the key that was given." in shown
    assert "only --key with the owner's public key tells" in run("verify")
    assert "It was signed with another key" in run("verify", "--key", "ab" * 32)
    assert "no public key" in run("verify", "--key", "ab")


def test_a_seal_does_not_hide_that_a_sound_is_gone(tmp_path: Path) -> None:
    """A leg of which a sound is missing or was changed can be sealed, and what is wrong is told with it."""
    folder = leg(tmp_path, 0, signed=False)
    with Journal.open(folder, START) as journal:
        journal.append(heard(journal.add_clip(sound())))
        journal.append(SignedOff(at=START, by=REVIEWER, sounds=1, listened_to=1))
    (folder / "clips" / "0001.flac").unlink()
    told = run("seal", folder.name)
    assert "is sealed. Nothing more can be added to it. But not all of it is as it was" in told
    assert told.endswith("Sound clip 0001.flac is missing.\n")


def test_all_that_are_signed_off_are_sealed(tmp_path: Path) -> None:
    """--all seals what a reviewer stands for and leaves the rest; one that another program writes is told."""
    first, second, unsigned = leg(tmp_path, 0), leg(tmp_path, 1), leg(tmp_path, 2, signed=False)
    changed = leg(tmp_path, 3)
    with Journal.open(changed, START) as journal:
        journal.append(Commented(at=START, by=REVIEWER, text="Look again."))
    with Journal.open(second, START):
        shown = run("seal", "--all")
    assert f"Leg {first.name} is sealed. Nothing more can be added to it." in shown
    assert f"Leg {second.name} is being written" in shown
    states = [line.split()[-3:] for line in run("legs").splitlines()[1:]]
    assert [" ".join(state) for state in states] == [
        "A. Reviewer sealed",
        "Reviewer as written",
        "yet as written",
        "longer as written",
    ]
    assert verify(unsigned).sealed is False
    run("seal", "--all")
    assert verify(second).sealed
    assert "No leg is signed off and not sealed." in run("seal", "--all")
    assert "is sealed" in run("seal", unsigned.name, "--unsigned")
    assert "Name one leg" in run("seal")
    assert "Name one leg" in run("seal", "--all", "--unsigned")


def test_a_locked_key_asks_for_its_passphrase(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A key with a passphrase asks for it, or takes it from the environment, where a wrong one is refused."""
    file = str(tmp_path / "mine.pem")
    folder = leg(tmp_path, 0)
    run("key", "make", "A", "--key", file, "--passphrase", told="tall pines\ntall pines\n")
    assert "not the passphrase" in run("seal", folder.name, "--key", file, told="tall pine\n")
    monkeypatch.setenv(PASSPHRASE, "tall pine")
    assert "not the passphrase" in run("seal", folder.name, "--key", file)
    monkeypatch.setenv(PASSPHRASE, "tall pines")
    assert "is sealed, signed" in run("seal", folder.name, "--key", file)
    run("key", "make", "A", "--key", str(tmp_path / "other.pem"), "--passphrase")
    with pytest.raises(KeyLockedError):
        read_key(tmp_path / "other.pem")


def test_an_export_carries_the_signature(tmp_path: Path) -> None:
    """The export of a signed leg tells who signed it and whether that holds, and is proven by the leg."""
    folder = leg(tmp_path, 0)
    before = export_leg(folder, Form.JSON, tmp_path / "before.json")[0]
    run("key", "make", "A. Reviewer")
    run("seal", folder.name, "--sign")
    (file,) = export_leg(folder, Form.JSON)
    assert "signed with the key of A. Reviewer" in summary_of_export(file)
    assert "The signature holds" in summary_of_export(file)
    assert "up to event 4" in prove(folder, file)
    assert "up to event 3" in prove(folder, before)
    assert "It is not sealed" in summary_of_export(before)
    document = from_json(file.read_bytes())
    assert document.journal is not None
    assert document.journal.sealed is not None
    moved = document.journal.sealed.model_copy(update={"at": START})
    journal = document.journal.model_copy(update={"sealed": moved})
    file.write_text(to_json(document.model_copy(update={"journal": journal})))
    assert "The signature does NOT hold" in summary_of_export(file)


def test_a_damaged_leg_is_not_passed_over_in_silence(tmp_path: Path) -> None:
    """Where all are to be sealed, one that a reviewer stands for and that is damaged is told, with what is wrong."""
    folder = leg(tmp_path, 0)
    (folder / "head").unlink()
    assert f"Leg {folder.name} is not sealed: The head file" in run("seal", "--all")
