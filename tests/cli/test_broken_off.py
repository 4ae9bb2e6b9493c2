from __future__ import annotations

import errno
import os
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from filelock import FileLock
from typer.testing import CliRunner

from tests.record.conftest import START, at, fill, heard, kept
from voice import cli
from voice.commands.broken_off import GOES_ON_WITHIN, broken_off
from voice.commands.handoff import summary_of
from voice.entries.kinds.drain import DrainClamped
from voice.entries.leg import LegSettings
from voice.entries.review import Reviewer
from voice.record.desk_events import DeskApproved
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
    assert f"legbook end {folder.name}" in sentence


def test_work_at_the_desk_keeps_no_leg_going(folder: Path) -> None:
    """A leg of days ago does not go on unasked because a reviewer was just at work on it: the next patient is another."""
    later = LAST + timedelta(days=3)
    by = Reviewer(name="R. Sand", role="charge nurse")
    with Journal.open(folder, later) as journal:
        journal.append(DeskApproved(at=later, by=by, number=1, why="heard"))
    journal_now, sentence = broken_off(later + timedelta(minutes=5))
    assert journal_now is None
    assert f"Leg {folder.name} has not ended." in sentence


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


def test_who_only_looks_keeps_nobody_from_going_on(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A lock that is held for a moment, to see whether somebody flies the leg, is waited for."""
    looking = FileLock(folder / "lock", thread_local=False)
    looking.acquire()
    monkeypatch.setattr("voice.commands.broken_off.time.sleep", lambda _s: looking.release())
    journal, _sentence = broken_off(LAST)
    assert journal is not None
    journal.close()


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


def clamped(folder: Path) -> None:
    """Clamp the drain of the leg at its last moment but one, and hear something a minute later."""
    with Journal.open(folder, LAST) as journal:
        told = kept(3).model_copy(
            update={
                "at": at(20),
                "entry": DrainClamped(),
                "spoken_at": at(20),
                "happened_at": at(20),
            }
        )
        journal.append(told)
        journal.append(heard().model_copy(update={"at": at(32)}))


def run(*words: str) -> str:
    """What a command says, without its line breaks."""
    result = CliRunner().invoke(cli.app, words, catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return " ".join(result.output.split())


@pytest.mark.parametrize("reviewed", [False, True])
def test_days_later_nothing_counts_up_to_now(folder: Path, *, reviewed: bool) -> None:
    """Summary, page and export of a leg that was broken off count up to its last event, and say so."""
    clamped(folder)
    if reviewed:
        by = Reviewer(name="R. Sand", role="charge nurse")
        with Journal.open(folder, at(5000)) as journal:
            journal.append(DeskApproved(at=at(5000), by=by, number=1, why="heard"))
    known = "no end was told. The last that is known of it is of 14:32, after 32 min"
    closed = "In all 12 min or more; 38% of the leg."
    file = folder.parent / "leg.json"
    run("export", folder.name, "--to", "json", "--out", str(file))
    for text in (run("summary", folder.name), run("summary", "--from", str(file))):
        assert known in text
        assert "14:20 and still clamped, 12 min or more (unconfirmed)." in text
        assert closed in text
    run("page", folder.name)
    page = " ".join((folder / "page.html").read_text("utf-8").split())
    assert known in page
    assert closed in page
    assert f"{folder.name} 14:00 broken off" in run("legs")


def test_a_leg_that_is_flown_counts_up_to_now(folder: Path) -> None:
    """While another program listens, the summary counts up to the moment at which it is asked for."""
    clamped(folder)
    with Journal.open(folder, LAST):
        text = summary_of(folder, at(50))
        assert "not ended by 14:50, 50 min so far" in " ".join(text.split())
        assert "14:20 and still clamped, 30 min (unconfirmed)" in " ".join(text.split())
        assert f"{folder.name} 14:00 not yet" in run("legs")
