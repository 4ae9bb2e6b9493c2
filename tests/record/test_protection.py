"""Legs that are kept encrypted: what opens them, what does not, and what a stranger finds on the disk."""

from __future__ import annotations

import itertools
import os
import shutil
import signal
from contextlib import closing, suppress
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

import pytest

from tests.record.conftest import START, at, fill, kept, sound
from tests.record.planting import change_clip, remove_clip, swap_clips
from voice.commands.handoff import SUMMARY, write_summary
from voice.entries.leg import LegSettings
from voice.record import protecting, protection
from voice.record.converting import convert
from voice.record.errors import JournalBusyError, JournalError
from voice.record.events import LegEnded
from voice.record.journal import Journal
from voice.record.part import Part
from voice.record.places import legs_root
from voice.record.protection import (
    KEY_FILE,
    NAME,
    OPENED,
    PASSPHRASE,
    LockedError,
    lock_with,
    new_data_key,
    open_with,
    own_lock,
    scrypt,
)
from voice.record.retention import Policy, drop_sound
from voice.record.shelf import latest, legs, load, verify

if TYPE_CHECKING:
    from collections.abc import Callable

SECRET = "tall pines and rain"
WORDS = (
    b"pressure",
    b"mmHg",
    b"leg_started",
    b"total out",
    b"CREATE TABLE",
    b"SQLite format",
    b"fLaC",
)
"""What stands in every leg of these tests."""
CHANGES = 60
"""About so many changes of files there are in `changing`."""


@pytest.fixture(autouse=True)
def home(home_of_keys: Path) -> Path:
    """A machine of this test only, on which keys are opened in no time."""
    return home_of_keys


@pytest.fixture
def on() -> None:
    """New legs are protected."""
    protecting.switch_on(SECRET.encode())


def flown(folder: Path, spare: Path | None = None) -> Path:
    """A leg with three entries and sounds."""
    with Journal.create(
        folder, LegSettings(), START, grammar_digest="", model_digest="", spare=spare
    ) as journal:
        fill(journal)
        journal.append(LegEnded(at=at(40)))
    return folder


def seen(*roots: Path) -> set[bytes]:
    """Which of the words a stranger reads in any file."""
    contents = [file.read_bytes() for root in roots for file in root.rglob("*") if file.is_file()]
    return {word for word in WORDS for content in contents if word in content}


@pytest.mark.parametrize(
    ("secret", "salt", "cost", "block", "derived"),
    [
        # RFC 7914, section 12: the vectors with p = 1
        (
            b"", b"", 16, 1,
            ("77d6576238657b203b19ca42c18a0497f16b4844e3074ae8dfdffa3fede21442"
            "fcd0069ded0948f8326a753a0fc81f17e8d3e0fb2e0d3628cf35e20c38d18906"),
        ),
        (
            b"pleaseletmein", b"SodiumChloride", 16384, 8,
            ("7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2"
            "d5432955613f0fcf62d49705242a9af9e61e85dc0d651e40dfcf017b45575887"),
        ),
    ],
)  # fmt: skip
def test_passphrases_are_stretched_as_the_standard_says(
    secret: bytes, salt: bytes, cost: int, block: int, derived: str
) -> None:
    """Scrypt gives what RFC 7914 prints."""
    assert scrypt(secret, salt, cost, block, 64).hex() == derived


def test_a_key_is_opened_by_what_locked_it_alone() -> None:
    """A data key comes back with its passphrase; with another, or from a changed file, it does not."""
    key = new_data_key()
    lock = lock_with(key, b"tall pines")
    assert open_with(lock, b"tall pines") == key
    assert open_with(lock, b"tall pine") is None
    assert key.secret.hex() not in lock.model_dump_json()
    other = lock.model_copy(update={"key_id": "0" * 16})
    assert open_with(other, b"tall pines") is None
    assert lock_with(key, b"tall pines").salt != lock.salt


def test_a_lock_with_a_cost_that_scrypt_does_not_take_is_damaged(home: Path) -> None:
    """Another figure in the file is told as damage, and ends in no traceback."""
    lock = lock_with(new_data_key(), b"tall pines")
    changed = lock.model_dump_json().replace(f'"cost":{lock.cost}', f'"cost":{lock.cost + 1}')
    (home / NAME).write_text(changed)
    with pytest.raises(LockedError, match="is damaged"):
        own_lock()


def unreadable(file: Path) -> None:
    """Put something in its place that cannot be read, as on a failing disk."""
    file.unlink()
    file.mkdir()


@pytest.mark.usefixtures("on")
@pytest.mark.parametrize("has_spare", [False, True])
def test_a_lock_that_cannot_be_read_is_not_taken_for_none(
    folder: Path, spare: Path, *, has_spare: bool
) -> None:
    """Where the disk does not give a leg's lock, nothing of the leg is written in clear; the copy in its spare will do."""
    flown(folder)
    unreadable(folder / NAME)
    folders = [folder, spare] if has_spare else [folder]
    with pytest.raises(LockedError, match=r"Whether legs are protected is not known\. Try again"):
        protection.lock_of(folders)
    with pytest.raises(LockedError):
        write_summary(folder, at(61))
    assert not (folder / SUMMARY).exists()
    spare.mkdir(parents=True)
    lock = own_lock()
    assert lock is not None
    protection.mark(spare, lock)
    assert protection.lock_of([folder, spare]) == lock


@pytest.mark.usefixtures("on")
def test_no_leg_begins_in_clear_because_the_disk_is_silent(
    home: Path, folder: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Where no disk tells whether new legs are protected none begins; one that has no lock is believed."""
    unreadable(home / NAME)
    with pytest.raises(LockedError, match="cannot be read: is a directory"):
        flown(folder)
    assert not folder.exists()
    monkeypatch.setenv("LEGBOOK_SPARE", str(tmp_path / "spare"))
    assert own_lock() is None


@pytest.mark.usefixtures("on")
def test_a_stranger_reads_nothing_of_a_leg_that_runs(home: Path, folder: Path, spare: Path) -> None:
    """After every event no file of a protected leg, nor of the machine, holds a word of it; all are 0600."""
    with Journal.create(
        folder, LegSettings(), START, grammar_digest="", model_digest="", spare=spare
    ) as journal:
        for number in range(1, 4):
            journal.append(kept(number))
            journal.add_clip(sound(number))
            assert seen(home, spare.parent) == set()
    files = [file for file in home.rglob("*") if file.is_file()]
    assert {file.name for file in files} == {
        "journal.sqlite", "head", "lock", NAME, "0001.flac", "0002.flac", "0003.flac"
    }  # fmt: skip
    assert {file.stat().st_mode & 0o777 for file in files if file.name != "lock"} == {0o600}
    assert verify(folder, spare).findings == ()


def test_a_leg_in_clear_would_be_seen(home: Path, folder: Path) -> None:
    """Of a leg that is not protected every one of the words is found."""
    flown(folder)
    assert seen(home) == set(WORDS)


@pytest.mark.usefixtures("on")
def test_a_leg_that_goes_on_elsewhere_stays_protected(
    home: Path, folder: Path, spare: Path
) -> None:
    """Where a protected leg goes on in its spare folder, that is protected too, and opens by itself."""
    with Journal.create(
        folder, LegSettings(), START, grammar_digest="", model_digest="", spare=spare
    ) as journal:
        journal.append(kept(1))
        assert journal._part is not None
        journal._part.close()
        with pytest.raises(JournalError):
            journal.append(kept(2))
        journal.carry_on(at(2))
        journal.append(kept(2))
        journal.add_clip(sound())
    assert (spare / "journal-2.sqlite").exists()
    assert seen(home, spare.parent) == set()
    shutil.rmtree(folder)
    (home / NAME).unlink()
    OPENED.forget()
    OPENED.ask = lambda _what: SECRET
    with closing(Part(spare / "journal-2.sqlite")) as part:
        assert part.last().number == 4


@pytest.mark.usefixtures("on")
def test_what_opens_a_leg_is_asked_for_once(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A passphrase comes from the environment, else from a person, who is asked once, also where it was wrong."""
    flown(folder)
    OPENED.forget()
    with pytest.raises(LockedError, match=f"give it in {PASSPHRASE}"):
        load(folder)
    asked = []

    def answer(what: str) -> str:
        asked.append(what)
        return answers.pop()

    OPENED.forget()
    OPENED.ask, answers = answer, [SECRET, "tall pines"]
    for _ in range(2):
        with pytest.raises(LockedError, match="not the passphrase"):
            load(folder)
    assert len(asked) == 1
    (listed,) = legs(legs_root())
    assert (listed.locked, listed.leg, listed.id) == (True, None, folder.name)
    assert next(latest(legs_root())).locked
    OPENED.forget()
    assert len(load(folder).entries) == 3
    assert len(asked) == 2
    OPENED.forget()
    monkeypatch.setenv(PASSPHRASE, SECRET)
    assert verify(folder).findings == ()
    with Journal.open(folder, at(50)) as journal:
        journal.append(kept(4))
    assert len(asked) == 2


def test_a_key_file_opens_hands_free(
    home: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A leg opens as long as its key file is in its place, or in the place that is named; else it says what is missing."""
    stick = home / "stick" / "key"
    stick.parent.mkdir()
    stick.write_bytes(b"k" * 64)
    protecting.switch_on(stick.read_bytes(), stick)
    flown(folder)
    OPENED.forget()
    assert verify(folder).findings == ()
    stick.rename(home / "elsewhere")
    OPENED.forget()
    with pytest.raises(LockedError, match="Bring it back"):
        load(folder)
    monkeypatch.setenv(KEY_FILE, str(home / "elsewhere"))
    OPENED.forget()
    assert len(load(folder).entries) == 3
    (home / "elsewhere").write_bytes(b"l" * 64)
    OPENED.forget()
    with pytest.raises(LockedError, match="not the one that opens"):
        load(folder)


@pytest.mark.usefixtures("on")
def test_a_copy_of_a_leg_opens_by_itself(home: Path, folder: Path) -> None:
    """A leg opens from its own folder without the machine's file, and by the machine's where its own was lost."""
    flown(folder)
    OPENED.ask = lambda _what: SECRET
    kept_elsewhere = (home / NAME).read_bytes()
    (home / NAME).unlink()
    OPENED.forget()
    assert verify(folder).findings == ()
    (home / NAME).write_bytes(kept_elsewhere)
    (folder / NAME).unlink()
    OPENED.forget()
    assert len(load(folder).entries) == 3
    with Journal.open(folder, at(50)) as journal:
        journal.add_clip(sound(4))
    assert seen(folder) == set()
    (folder / NAME).write_text("{")
    assert verify(folder).findings == ()
    (home / NAME).unlink()
    with pytest.raises(LockedError, match="is damaged"):
        load(folder)


@pytest.mark.usefixtures("on")
@pytest.mark.parametrize("plant", [change_clip, remove_clip, swap_clips])
def test_a_change_of_a_protected_sound_is_found(plant: object, folder: Path) -> None:
    """Sounds that were changed, removed or exchanged are told as those of a leg in clear are."""
    flown(folder)
    assert callable(plant)
    plant(folder, Random(3))
    assert verify(folder).findings != ()


@pytest.mark.usefixtures("on")
def test_a_change_of_a_protected_journal_is_found(folder: Path) -> None:
    """Another byte anywhere in the pages of a protected journal is told."""
    flown(folder)
    whole = (folder / "journal.sqlite").read_bytes()
    for place in (0, 100, 5000, len(whole) - 1):
        changed = bytearray(whole)
        changed[place] ^= 1
        (folder / "journal.sqlite").write_bytes(bytes(changed))
        assert verify(folder).findings != (), place
    (folder / "journal.sqlite").write_bytes(b"no journal" * 1000)
    with pytest.raises(JournalError, match="Nothing can be read"):
        load(folder)


def test_protection_goes_on_and_off(home: Path, folder: Path, spare: Path) -> None:
    """Switched on, what was in clear is encrypted; switched off, all is in clear again, and each time it is the same leg."""
    before = load(flown(folder, spare))
    head = verify(folder).head
    lock = protecting.switch_on(SECRET.encode())
    assert convert(folder, spare, lock).changed == 4
    assert seen(home) == set()
    assert convert(folder, spare, lock).changed == 0
    verdict = verify(folder)
    assert (load(folder), verdict.head, verdict.findings) == (before, head, ())
    assert drop_sound(folder, Policy(after_days=0), at(80)) == 3
    lock = protecting.switch_off()
    assert convert(folder, spare, lock).changed == 1
    protecting.forget_key()
    assert own_lock() is None
    assert not (folder / NAME).exists()
    assert verify(folder).findings == ()
    assert load(folder) == before
    with pytest.raises(JournalError, match="Protection is off"):
        protecting.switch_off()


@pytest.mark.usefixtures("on")
def test_another_passphrase_opens_and_the_old_one_does_not(
    home: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After a change the new passphrase opens each leg, by the machine's file or its own, and no file was written anew but those."""
    journal = (flown(folder) / "journal.sqlite").read_bytes()
    lock = protecting.change(b"another day of rain")
    protecting.lock_anew(folder, None, lock)
    assert (folder / "journal.sqlite").read_bytes() == journal
    (home / NAME).unlink()
    OPENED.forget()
    monkeypatch.setenv(PASSPHRASE, SECRET)
    with pytest.raises(LockedError):
        load(folder)
    OPENED.forget()
    monkeypatch.setenv(PASSPHRASE, "another day of rain")
    assert len(load(folder).entries) == 3


def test_a_leg_of_another_machine_stays_as_it_is(home: Path, folder: Path) -> None:
    """A leg that came with another key is not touched, and one that is being written is waited for."""
    protecting.switch_on(b"another machine's")
    flown(folder)
    (home / NAME).unlink()
    OPENED.forget()
    lock = protecting.switch_on(SECRET.encode())
    with pytest.raises(LockedError, match="another machine"):
        convert(folder, None, lock)
    running = folder.with_name("2026-05-02-1400")
    with (
        Journal.create(running, LegSettings(), START, grammar_digest="", model_digest=""),
        pytest.raises(JournalBusyError, match="stays as it is"),
    ):
        convert(running, None, lock)


def changing(folder: Path) -> None:
    """On, another passphrase, and off again: every step that changes a leg's files or its keys."""
    lock = protecting.switch_on(SECRET.encode())
    convert(folder, None, lock)
    lock = protecting.change(b"another day of rain")
    protecting.lock_anew(folder, None, lock)
    lock = protecting.switch_off()
    convert(folder, None, lock)
    protecting.forget_key()


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
@pytest.mark.parametrize("tenths", range(1, 10, 2))
def test_killed_at_a_change_nothing_is_lost(
    tenths: int, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Killed at any call that names a file, every leg opens, by one of the two passphrases, and the command goes on."""
    flown(folder)
    told = verify(folder).head
    child = os.fork()
    if child == 0:
        _die_at(monkeypatch, tenths)
        changing(folder)
        os._exit(0)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL, (
        "it was to be killed"
    )
    lock = own_lock()
    secrets_ = [SECRET, "another day of rain"]
    verdicts = []
    for secret in secrets_:
        OPENED.forget()
        monkeypatch.setenv(PASSPHRASE, secret)
        with suppress(LockedError):
            verdicts.append(verify(folder))
            break
    assert [(one.head, one.findings) for one in verdicts] == [(told, ())]
    if lock is not None:  # what was broken off goes on
        convert(folder, None, protecting.switch_off())
        protecting.forget_key()
    assert verify(folder).findings == ()
    assert seen(folder) == set(WORDS)
    assert not (folder / NAME).exists()


def _die_at(monkeypatch: pytest.MonkeyPatch, tenths: int) -> None:
    """Let this process be killed at one of its changes of a file's name, so many tenths of the way."""
    changes = itertools.count()

    def deadly(do: Callable[..., object]) -> Callable[..., object]:
        def done(*arguments: object, **more: object) -> object:
            if next(changes) == tenths * CHANGES // 10:
                os.kill(os.getpid(), signal.SIGKILL)
            return do(*arguments, **more)

        return done

    for name in ("replace", "unlink"):
        monkeypatch.setattr(Path, name, deadly(getattr(Path, name)))
    monkeypatch.setattr(os, "fsync", deadly(os.fsync))
