"""Sessions are put together from what there is."""

from __future__ import annotations

import errno
import time
from typing import TYPE_CHECKING, NoReturn

import pytest

from tests.session.scripted import SETTINGS, ZERO_AT
from voice.acoustics.shipped import MODEL_FOLDER
from voice.capture.recordings import Pace
from voice.capture.speaker import SpeakerError
from voice.dialogue.actions import EndLeg, Keep, StartLeg
from voice.entries.errors import LegbookError
from voice.entries.kinds.drain import DrainOpened
from voice.entries.said import Statement
from voice.record.part import Part
from voice.record.shelf import load
from voice.session import setups
from voice.session.keeper import Keeper, Origin, Utterance
from voice.session.models import Model
from voice.session.setups import Equipment, model_digest, recorded
from voice.session.uptime import uptime_s

if TYPE_CHECKING:
    from pathlib import Path


def test_recordings_are_heard_without_a_speaker(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In real time, too, a machine without a speaker runs recordings, in silence."""
    asked = []

    def none_there(*device: object) -> NoReturn:
        asked.append(device)
        raise SpeakerError("There is no speaker.")

    monkeypatch.setattr(setups, "Speaker", none_there)
    session = recorded(Equipment(root=tmp_path), [], ZERO_AT, pace=Pace.REAL)
    assert len(list(session.run())) == 1
    assert len(asked) == 1


def test_another_model_folder_is_looked_at(tmp_path: Path) -> None:
    """A model that is not there is told before the leg begins."""
    with pytest.raises(LegbookError, match="model"):
        Equipment(root=tmp_path, model=Model("none", tmp_path / "none")).ears()


def test_a_leg_knows_what_the_drugs_of_its_grammar_are_for(tmp_path: Path) -> None:
    """With the start of a leg it is noted which drugs are antibiotics, and which are for the pressure."""
    settings = Equipment(root=tmp_path).origin().settings
    assert "cefazolin" in settings.antibiotics
    assert "mannitol" not in settings.antibiotics
    assert {"mannitol", "propofol"} <= set(settings.pressure_drugs)
    assert "cefazolin" not in settings.pressure_drugs


def test_model_digest_tells_models_apart(tmp_path: Path) -> None:
    """The digest changes with any file of the model, and with nothing else."""
    assert model_digest(MODEL_FOLDER) == model_digest(MODEL_FOLDER)
    (tmp_path / "final.mdl").write_bytes(b"1")
    first = model_digest(tmp_path)
    (tmp_path / "final.mdl").write_bytes(b"2")
    assert model_digest(tmp_path) != first


@pytest.mark.skipif(not hasattr(time, "CLOCK_BOOTTIME"), reason="a clock of Linux")
def test_time_goes_on_while_the_machine_sleeps(monkeypatch: pytest.MonkeyPatch) -> None:
    """After a sleep, which the monotonic clock does not count, the time of entries is right."""
    monkeypatch.setattr(time, "monotonic", lambda: 100.0)
    monkeypatch.setattr(time, "clock_gettime", {time.CLOCK_BOOTTIME: 700.0}.__getitem__)
    assert uptime_s() == 700.0


def test_journal_goes_on_on_the_other_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the first disk fails, the leg goes on in the spare folder and is whole there."""
    origin = Origin(tmp_path / "legs", SETTINGS, "g", "m", spare_root=tmp_path / "spare")
    keeper = Keeper(origin)
    keeper.do([StartLeg()], Utterance(ZERO_AT), ZERO_AT)
    append, failures = Part.append, iter([True])

    def fail_once(part: Part, row: object) -> None:
        if next(failures, False):
            raise OSError(errno.EIO, "Input/output error")
        append(part, row)  # type: ignore[arg-type]

    monkeypatch.setattr(Part, "append", fail_once)
    keep = Keep(1, "drain open", Statement(entry=DrainOpened()))
    keeper.do([keep], Utterance(ZERO_AT), ZERO_AT)
    keeper.close()
    leg_id = keeper.folder.name
    leg = load(keeper.folder, tmp_path / "spare" / leg_id)
    assert [entry.heard for entry in leg.entries] == ["drain open"]
    assert (tmp_path / "spare" / leg_id / "journal-2.sqlite").exists()
    assert len(keeper.troubles) == 1


def test_a_leg_starts_on_the_other_disk(tmp_path: Path) -> None:
    """Where the first disk is dead at the start of a leg, it starts in the spare folder, and that is told."""
    (tmp_path / "legs").write_text("no folder")
    origin = Origin(tmp_path / "legs", SETTINGS, "g", "m", spare_root=tmp_path / "spare")
    keeper = Keeper(origin)
    for _leg in range(2):
        keeper.do([StartLeg()], Utterance(ZERO_AT), ZERO_AT)
        keeper.do([EndLeg()], Utterance(ZERO_AT), ZERO_AT)
    assert len(list((tmp_path / "spare").iterdir())) == 2
    assert "kept in the spare folder" in keeper.troubles[0]
