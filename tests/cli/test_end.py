"""The command that says when a leg was over, where nobody said so on it."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from typer.testing import CliRunner

from tests.record.conftest import START, at, fill, heard, kept
from voice import cli
from voice.commands.broken_off import broken_off
from voice.commands.end import end_leg
from voice.commands.review import REVIEWED
from voice.entries.errors import LegbookError
from voice.entries.kinds.drain import DrainClamped, DrainOpened
from voice.entries.leg import LegSettings
from voice.entries.review import Reviewer
from voice.record.desk_events import SignedOff
from voice.record.errors import EventRefusedError, JournalBusyError, JournalError
from voice.record.events import LegEnded
from voice.record.journal import Journal
from voice.record.shelf import load, verify
from voice.review.ending import EndError
from voice.review.typed import TypedError

if TYPE_CHECKING:
    from pathlib import Path

BY = Reviewer(name="R. Sand", role="charge nurse")
LATER = at(3 * 24 * 60)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A leg that broke off 32 min after its start, by a clock two hours ahead, with the drain clamped in minute 20."""
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    monkeypatch.delenv("LEGBOOK_SPARE", raising=False)
    monkeypatch.setenv("COLUMNS", "400")
    folder = tmp_path / "legs" / "2026-05-01-1600"
    with Journal.create(
        folder, LegSettings(utc_offset_min=120), START, grammar_digest="", model_digest=""
    ) as journal:
        fill(journal, 2)
        told = {"at": at(20), "entry": DrainClamped(), "spoken_at": at(20), "happened_at": at(20)}
        journal.append(kept(3).model_copy(update=told))
        journal.append(heard().model_copy(update={"at": at(32)}))
    return folder


def run(*words: str, told: str | None = None) -> str:
    """What a command says, without its line breaks; where it refuses, why."""
    done = CliRunner().invoke(cli.app, words, input=told)
    if isinstance(done.exception, LegbookError):
        return str(done.exception)
    return " ".join(done.output.split())


def test_a_leg_that_broke_off_is_ended_summed_up_and_sealed(folder: Path) -> None:
    """Days later a leg ends when it was over, its summary counts up to that and tells by whom, and it can be sealed."""
    assert f"Say when it was over with: legbook end {folder.name}" in run("seal", folder.name)
    who = ("--by", BY.name, "--role", BY.role)
    said = run("end", "1600", "--at", "16:40", *who)
    assert said.startswith(
        f"Leg {folder.name} ended 01 May 16:40, as R. Sand, charge nurse, tells."
    )
    summary = run("summary", folder.name)
    left = (folder / REVIEWED).read_text("utf-8")
    assert summary == " ".join(left.split())
    told = "ended 16:40 after 40 min, as R. Sand, charge nurse, told at the desk"
    assert f"{told}; the last that was written on it is of 16:32." in summary
    assert "16:20 and still clamped, 20 min (unconfirmed)" in summary
    assert "End of the leg told by R. Sand, charge nurse," in summary
    assert "nobody said so on the leg" in summary
    assert "is sealed" in run("seal", folder.name, "--unsigned")
    assert verify(folder).intact
    assert "is sealed" in run("end", "1600", *who)


def test_without_a_time_it_ends_with_the_last_that_is_known(folder: Path) -> None:
    """Who gives no time takes the last event; who gives no name is asked for it."""
    said = run("end", "1600", told="R. Sand\ncharge nurse\n")
    assert "ended 01 May 16:32, as R. Sand, charge nurse, tells." in said
    leg = load(folder)
    assert (leg.ended_at, leg.flown_until) == (at(32), at(32))
    assert "told at the desk. Clock" in run("summary", folder.name)
    assert broken_off(at(33)) == (None, "")


def test_an_end_told_wrongly_is_told_anew(folder: Path) -> None:
    """The last end that is told counts, and a sign-off of before stands no more."""
    assert end_leg(folder, LATER, BY, "16:50").endswith("tells.")
    with Journal.open(folder, LATER) as journal:
        journal.append(SignedOff(at=LATER, by=BY, sounds=2, listened_to=2))
    assert load(folder).signed is not None
    told = end_leg(folder, LATER, BY, "16:30", "the battery went flat")
    assert told.endswith(f"It has to be signed off again: legbook review {folder.name}")
    leg = load(folder)
    assert (leg.ended_at, leg.signed) == (at(30), None)
    assert leg.desk_end is not None
    assert leg.desk_end.why == "the battery went flat"
    with Journal.open(folder, LATER) as journal, pytest.raises(EventRefusedError):
        journal.append(LegEnded(at=LATER))


@pytest.mark.parametrize(
    ("time", "error", "why"),
    [
        ("15:59", EndError, "began at 16:00"),
        ("16:19", EndError, r"Entry 3, Drain clamped, happened at 01 May 16:20"),
        ("soon", TypedError, "Type a time"),
        ("2026-05-05T10:00", TypedError, "still to come"),
        ("0001-01-01T00:00", TypedError, "Type a time"),
        ("9999-12-31T23:59Z", TypedError, "Type a time"),
    ],
)
def test_an_end_that_cannot_be_is_refused(
    folder: Path, time: str, error: type[LegbookError], why: str
) -> None:
    """A leg ends after it began, after all that happened on it, and not in the future; else nothing is written."""
    with pytest.raises(error, match=why):
        end_leg(folder, LATER, BY, time)
    assert load(folder).ended_at is None


def test_a_minute_that_is_typed_is_all_of_it(folder: Path) -> None:
    """What happened within the minute that is typed did not happen after the end."""
    with Journal.open(folder, at(33)) as journal:
        told = {"at": at(33), "entry": DrainOpened(), "spoken_at": at(33), "happened_at": at(32.5)}
        journal.append(kept(4).model_copy(update=told))
    end_leg(folder, LATER, BY, "16:32")
    assert load(folder).ended_at == at(32.5)


def test_a_clock_that_was_set_back_keeps_no_leg_open(folder: Path) -> None:
    """Where the leg was flown by a clock ahead of now, it is ended all the same, no earlier than it was flown."""
    assert "ended 01 May 16:32" in end_leg(folder, at(-600), BY, None)
    assert "ended 01 May 16:25" in end_leg(folder, at(-600), BY, "16:25")
    leg = load(folder)
    assert leg.desk_end is not None
    assert leg.desk_end.at == at(32)


def test_what_was_said_on_the_leg_counts(folder: Path) -> None:
    """A leg that is being flown is not ended from outside, nor one of which "end leg" was said."""
    with Journal.open(folder, at(33)) as journal:
        with pytest.raises(JournalBusyError):
            end_leg(folder, at(34), BY, None)
        journal.append(LegEnded(at=at(40)))
    with pytest.raises(EndError, match='"end leg" was said'):
        end_leg(folder, LATER, BY, "16:35")
    assert load(folder).ended_at == at(40)


def test_a_leg_that_is_not_there_is_said(folder: Path) -> None:
    """Without a leg, or with a name or a reason on two lines, it is told what is wrong."""
    with pytest.raises(JournalError, match="no leg in"):
        end_leg(folder.with_name("nowhere"), LATER + timedelta(1), BY, None)
    assert "one line each" in run("end", "1600", "--by", "A\nB", "--role", "nurse")
    for why in ("", "flat\nbattery"):
        assert "is one line" in run("end", "1600", "--by", "A", "--role", "nurse", "--why", why)
    assert load(folder).ended_at is None
