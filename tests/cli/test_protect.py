"""The command that keeps legs encrypted."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
from typer.testing import CliRunner

from voice import cli
from voice.commands.handoff import SUMMARY, write_summary
from voice.commands.protect import NEW_PASSPHRASE, asked, unprotected_beside_protected
from voice.entries.errors import LegbookError
from voice.entries.leg import LegSettings
from voice.record import protection
from voice.record.events import LegEnded, Noticed
from voice.record.in_use import standing_by
from voice.record.journal import Journal
from voice.record.protection import KEY_FILE, NAME, OPENED, PASSPHRASE, own_lock
from voice.record.shelf import verify

if TYPE_CHECKING:
    from pathlib import Path

START = datetime(2031, 5, 1, 14, 0, tzinfo=UTC)
FIRST, SECOND = "tall pines and rain", "another day of rain"


@pytest.fixture(autouse=True)
def home(home_of_keys: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A machine of this test only, on which keys are opened in no time."""
    monkeypatch.setenv("COLUMNS", "300")
    monkeypatch.delenv(NEW_PASSPHRASE, raising=False)
    return home_of_keys


def leg(home: Path, name: str = "2031-05-01-1400") -> Path:
    """The folder of a leg that has ended."""
    folder = home / "legs" / name
    with Journal.create(
        folder, LegSettings(), START, grammar_digest="", model_digest=""
    ) as journal:
        journal.append(Noticed(at=START, text="The microphone went."))
        journal.append(LegEnded(at=START))
    return folder


def run(*arguments: str, told: str | None = None) -> str:
    """What a command of a new start shows; where it refuses, why."""
    OPENED.forget()
    OPENED.ask = asked
    done = CliRunner().invoke(cli.app, arguments, input=told)
    if isinstance(done.exception, LegbookError):
        return done.output + str(done.exception)
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done.output


def test_legs_are_protected_opened_and_put_back(home: Path) -> None:
    """On, looked at, opened by another passphrase, and off again: each step says what it did, and what it needs."""
    folder = leg(home)
    assert "Protection is off" in run("protect")
    assert "Protection is off" in run("protect", "off")
    assert "too short" in run("protect", "on", told="pines\npines\n")
    (folder / SUMMARY).write_text("The microphone went.")
    shown = run("protect", "on", told=f"{FIRST}\n" * 2)
    assert f"Leg {folder.name}, 1 of 1: files changed: 1." in shown
    assert [line for line in shown.splitlines() if line.startswith("In clear")] == [
        f"In clear, to be removed where it is not needed: {folder / SUMMARY}"
    ]
    assert "opened by a passphrase" in run("protect")
    assert "locked" in run("legs", told="wrong\n")
    assert "not the passphrase" in run("verify", told="wrong\n")
    assert "is as it was written: 3 events" in run("verify", told=f"{FIRST}\n")
    assert "Changed." in run("protect", "change", told=f"{FIRST}\n{SECOND}\n{SECOND}\n")
    assert "not the passphrase" in run("verify", told=f"{FIRST}\n")
    assert "not the passphrase" in run("protect", "off", told=f"{FIRST}\n")
    assert "is as it was written" in run("verify", told=f"{SECOND}\n")
    assert "kept in clear" in run("protect", "off", told=f"{SECOND}\n")
    assert not (home / NAME).exists()
    assert "is as it was written: 3 events" in run("verify")


def test_a_key_file_is_made_and_opens_without_a_word(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A key file that is not there yet is made for its owner alone; with it nothing is asked, without it all is refused."""
    leg(home)
    stick = home / "stick" / "key"
    assert str(stick) in run("protect", "on", "--key-file", str(stick))
    assert stick.stat().st_mode & 0o777 == 0o600
    assert "is as it was written" in run("verify")
    assert str(stick) in run("protect")
    assert "For a key file: legbook protect change" in run("protect", "on", "--key-file", "x")
    stick.unlink()
    assert "Bring it back" in run("verify")
    monkeypatch.setenv(NEW_PASSPHRASE, SECOND)
    assert "Bring it back" in run("protect", "change")


def test_what_cannot_be_used_as_a_key_file_is_told(home: Path) -> None:
    """A file of a few letters, and one that cannot be made, protect nothing."""
    (home / "short").write_text("k")
    assert "too short for a key file" in run("protect", "on", "--key-file", str(home / "short"))
    assert "cannot be used" in run("protect", "on", "--key-file", str(home / "short" / "key"))
    assert own_lock() is None


def test_a_leg_that_is_being_written_stays_as_it_is(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Switching on or off tells which legs it left, keeps the key for them, and goes on with them the next time."""
    monkeypatch.setenv(NEW_PASSPHRASE, FIRST)
    monkeypatch.setenv(PASSPHRASE, FIRST)
    folder = leg(home)
    leg(home, "2031-05-02-1400")
    with Journal.open(folder, START):
        shown = run("protect", "on")
    assert f"Leg {folder.name} is being written" in shown
    assert "1 legs are as they were" in shown
    assert f"Leg {folder.name}, 1 of 2: files changed: 1." in run("protect", "on")
    with Journal.open(folder, START):
        assert "1 legs are as they were" in run("protect", "off")
    assert "was broken off" in run("protect")
    assert verify(folder).findings == ()
    assert "kept in clear" in run("protect", "off")


def test_the_passphrase_is_asked_for_before_the_leg(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Listening does not begin while the legs are locked; once they are open, a leg begins and nobody is asked."""
    monkeypatch.setenv(NEW_PASSPHRASE, FIRST)
    run("protect", "on")
    sound = home / "silence.wav"
    sound.write_bytes(b"")
    shown = run("listen", "--audio", str(sound), told="wrong\n")
    assert "not the passphrase" in shown
    OPENED.forget()
    OPENED.ask = lambda _what: FIRST
    protection.prepare()
    OPENED.ask = None
    assert verify(leg(home)).findings == ()


def test_no_summary_is_left_in_clear(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """At the end of a protected leg its summary is shown and not written; where a file is named, it is."""
    monkeypatch.setenv(NEW_PASSPHRASE, FIRST)
    run("protect", "on")
    OPENED.ask = lambda _what: FIRST
    folder = leg(home)
    assert "The microphone went." in write_summary(folder, START)
    assert not (folder / SUMMARY).exists()
    write_summary(folder, START, home / "asked.txt")
    assert "The microphone went." in (home / "asked.txt").read_text()


def test_another_key_is_made_told_and_gone_on_with(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each leg is told as it is written anew; a leg that could not be reached is told, read all the same, and reached later."""
    monkeypatch.setenv(NEW_PASSPHRASE, FIRST)
    folder, damaged = leg(home), leg(home, "2031-05-02-1400")
    (folder / SUMMARY).write_text("The microphone went.")
    run("protect", "on")
    whole = (damaged / NAME).read_bytes()
    (damaged / NAME).write_text("{")
    monkeypatch.setenv(NEW_PASSPHRASE, SECOND)
    shown = run("protect", "change", "--new-key", told=f"{FIRST}\n")
    assert f"Leg {folder.name}, 1 of 2: files changed: 1." in shown
    assert "is damaged" in shown
    assert "1 legs are as they were" in shown
    assert "Go on with: legbook protect on" in shown
    assert "under the key of before. Go on with: legbook protect on" in run("protect")
    (damaged / NAME).write_bytes(whole)
    for name in (folder.name, damaged.name):
        assert "not the passphrase" in run("verify", name, told="wrong\n")
        assert "is as it was written" in run("verify", name, told=f"{SECOND}\n")
    shown = run("protect", "on", told=f"{SECOND}\n")
    assert f"Leg {damaged.name}, 2 of 2: files changed: 1." in shown
    assert "of before" not in run("protect")
    shown = run("protect", "change", "--new-key", told=f"{SECOND}\n")
    assert "All legs of this machine are under the new key." in shown
    assert f"In clear, to be removed where it is not needed: {folder / SUMMARY}" in shown
    assert "kept in clear" in run("protect", "off", told=f"{SECOND}\n")
    for name in (folder.name, damaged.name):
        assert "is as it was written" in run("verify", name)


def test_no_other_key_is_made_while_a_leg_is_written_or_somebody_listens(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is refused before anything is asked or changed."""
    monkeypatch.setenv(NEW_PASSPHRASE, FIRST)
    monkeypatch.setenv(PASSPHRASE, FIRST)
    folder = leg(home)
    run("protect", "on")
    before = (home / NAME).read_bytes()
    with Journal.open(folder, START):
        shown = run("protect", "change", "--new-key")
    assert f"Leg {folder.name} is being written by another running legbook" in shown
    with standing_by():
        assert "Another legbook listens" in run("protect", "change", "--new-key")
        assert "Another legbook listens" in run("protect", "off")
    assert (home / NAME).read_bytes() == before


def test_the_key_is_kept_for_a_leg_whose_lock_is_damaged(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a leg's lock cannot be read, switching off does not end: the machine's key is the only one that opens it."""
    monkeypatch.setenv(NEW_PASSPHRASE, FIRST)
    monkeypatch.setenv(PASSPHRASE, FIRST)
    folder = leg(home)
    run("protect", "on")
    whole = (folder / NAME).read_bytes()
    (folder / NAME).write_text("{")
    shown = run("protect", "off")
    assert "Put it back from a copy" in shown
    assert "1 legs are as they were" in shown
    assert "is as it was written" in run("verify")
    (folder / NAME).write_bytes(whole)
    assert "kept in clear" in run("protect", "off")


def test_a_key_file_that_is_not_there_is_told_with_its_place(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is said which file is missing, why it was looked for there, and what to do; nothing is told of a folder."""
    leg(home)
    stick = home / "stick" / "key"
    run("protect", "on", "--key-file", str(stick))
    stick.rename(home / "elsewhere")
    shown = run("verify")
    assert f"there is no file {stick}: there it lay when it was chosen." in shown
    assert f"Bring it back, or name its place in {KEY_FILE}." in shown
    monkeypatch.setenv(KEY_FILE, str(home / "nowhere" / "key"))
    shown = run("verify")
    assert f"there is no file {home / 'nowhere' / 'key'}: there it was looked for because" in shown
    assert f"without that it is looked for in {stick}." in shown
    assert "folder is gone" not in shown
    monkeypatch.setenv(KEY_FILE, str(home / "elsewhere"))
    assert "is as it was written" in run("verify")


def test_protection_that_was_deleted_is_told(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """New legs would be kept in clear beside protected ones, and nobody would know."""
    leg(home)
    monkeypatch.setenv(NEW_PASSPHRASE, FIRST)
    run("protect", "on")
    assert unprotected_beside_protected() is None
    lock = (home / NAME).read_bytes()
    (home / NAME).unlink()
    assert "1 of the legs here are protected" in run("protect")
    assert "1 of the legs here are protected" in run("doctor")
    (home / NAME).write_bytes(lock)
    assert "Protection is on" in run("protect")
