from __future__ import annotations

import errno
import os
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from tests.record.conftest import START, at, fill
from voice.commands.broken_off import GOES_ON_WITHIN, broken_off
from voice.entries.leg import LegSettings
from voice.record.errors import JournalBusyError
from voice.record.events import LegEnded
from voice.record.journal import Journal

if TYPE_CHECKING:
    from pathlib import Path

LAST = at(2)
"""When the leg's last event was written."""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A leg that was broken off, after an older one that was not ended either."""
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    monkeypatch.delenv("LEGBOOK_SPARE", raising=False)
    for day in (30, 31):
        folder = tmp_path / "legs" / f"2026-04-{day}-1400"
        with Journal.create(
            folder, LegSettings(), START, grammar_digest="", model_digest=""
        ) as journal:
            fill(journal, 2)
    return folder


@pytest.mark.parametrize("after", [timedelta(minutes=-40), timedelta(0), GOES_ON_WITHIN])
def test_a_leg_that_was_just_broken_off_goes_on(folder: Path, after: timedelta) -> None:
    """The newest leg goes on unasked soon after its last event, and with a clock that was set back."""
    journal, sentence = broken_off(LAST + after)
    assert journal is not None
    with journal:
        assert journal.leg_id == folder.name
        assert len(journal.leg().entries) == 2
    assert "goes on" in sentence


def test_an_old_leg_is_only_told_of(folder: Path) -> None:
    """Later a leg does not go on unasked: it may be another patient's."""
    journal, sentence = broken_off(LAST + GOES_ON_WITHIN + timedelta(seconds=1))
    assert journal is None
    assert f"--go-on {folder.name}" in sentence


def test_a_leg_is_found_though_the_clock_was_set_back(folder: Path) -> None:
    """A leg that was begun last goes on also where the id of an ended one is later."""
    with Journal.open(folder, LAST) as journal:
        journal.append(LegEnded(at=LAST))
    found, _sentence = broken_off(LAST)
    assert found is not None
    with found:
        assert found.leg_id == "2026-04-30-1400"


def test_a_leg_that_ended_does_not_go_on(folder: Path) -> None:
    """Nothing goes on where every leg has ended."""
    for leg in folder.parent.iterdir():
        with Journal.open(leg, LAST) as journal:
            journal.append(LegEnded(at=LAST))
    assert broken_off(LAST) == (None, "")


def test_without_legs_nothing_goes_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The first start of all has nothing to go on with."""
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    assert broken_off(START) == (None, "")


def test_a_leg_that_is_being_written_is_left_alone(folder: Path) -> None:
    """A second program does not start beside the one that writes the leg."""
    with Journal.open(folder, LAST), pytest.raises(JournalBusyError):
        broken_off(LAST)


def test_a_disk_that_fails_keeps_nobody_from_listening(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the leg cannot be written any more that is told, and a new one can be started."""
    head = folder / "head"
    head.write_text(head.read_text()[:-9])

    def refuse(_descriptor: int) -> None:
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(os, "fsync", refuse)
    journal, sentence = broken_off(LAST)
    assert journal is None
    assert "cannot be opened: the disk does not answer properly" in sentence
