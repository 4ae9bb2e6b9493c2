"""What sealing asks for, and what may follow."""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING

import pytest

from tests.record.conftest import at, fill, kept
from voice.entries.review import Reviewer
from voice.record.desk_events import Commented, SignedOff
from voice.record.errors import EventRefusedError, JournalError
from voice.record.events import Continued, LegEnded
from voice.record.journal import Journal
from voice.record.part import Part
from voice.record.retention import Policy, drop_sound
from voice.record.sealing import seal
from voice.record.shelf import load, verify
from voice.record.signing import make_key

if TYPE_CHECKING:
    from pathlib import Path

    from voice.record.chain import Row

BY = Reviewer(name="A. Reviewer", role="educator")


def sign_off(minute: float) -> SignedOff:
    """A reviewer stands for the leg."""
    return SignedOff(at=at(minute), by=BY, sounds=3, listened_to=1)


@pytest.fixture
def signed_off(journal: Journal, folder: Path) -> Path:
    """The folder of a leg that was ended and signed off."""
    fill(journal)
    journal.append(LegEnded(at=at(40)))
    journal.append(sign_off(45))
    journal.close()
    return folder


def test_a_leg_is_sealed_after_its_sign_off(journal: Journal, folder: Path) -> None:
    """A leg that has not ended, has no sign-off, or was changed after it, is refused; with a sign-off it is sealed."""
    fill(journal)
    journal.rest()
    with pytest.raises(EventRefusedError, match=r"has not ended.*legbook end "):
        seal(folder, at(39), unsigned=True)
    journal.wake()
    journal.append(LegEnded(at=at(40)))
    journal.rest()
    with pytest.raises(EventRefusedError, match="no reviewer has signed it off"):
        seal(folder, at(41))
    journal.wake()
    journal.append(sign_off(42))
    journal.append(Commented(at=at(43), by=BY, text="Look again."))
    journal.rest()
    with pytest.raises(EventRefusedError, match="changed after it was signed off"):
        seal(folder, at(44))
    journal.wake()
    journal.append(sign_off(45))
    journal.close()
    seal(folder, at(50))
    verdict = verify(folder)
    assert (verdict.sealed, verdict.findings) == (True, ())
    assert load(folder).signed is not None
    with pytest.raises(JournalError, match="is sealed"):
        seal(folder, at(51))


def test_it_can_be_sealed_without_a_sign_off(journal: Journal, folder: Path) -> None:
    """Where that is asked for, a leg that ended is sealed though nobody signed it off."""
    journal.append(LegEnded(at=at(40)))
    journal.close()
    seal(folder, at(50), unsigned=True)
    assert verify(folder).sealed


def test_after_the_seal_only_sound_goes(signed_off: Path) -> None:
    """The policy lets the sound of a sealed leg go; the seal, its signature and the sign-off stand."""
    key = make_key(signed_off.parent / "key.pem", "A")
    seal(signed_off, at(50), key=key)
    assert drop_sound(signed_off, Policy(signed=True), at(60)) == 3
    verdict = verify(signed_off, key=key.public)
    assert (verdict.sealed, verdict.findings) == (True, ())
    assert verdict.leg is not None
    assert verdict.leg.signed is not None
    with Journal.open(signed_off, at(61), though_sealed=True) as journal:
        for late in (kept(4), Commented(at=at(61), by=BY, text="Late."), sign_off(61)):
            with pytest.raises(EventRefusedError, match="is sealed"):
                journal.append(late)
        with pytest.raises(EventRefusedError, match="is sealed"):
            journal.seal(at(62))


def test_a_disk_that_fails_at_the_seal_does_not_undo_the_sign_off(
    signed_off: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the file fails while it is sealed, the seal and its signature stand in a new file, and the sign-off stands."""
    key = make_key(signed_off.parent / "key.pem", "A")
    append = Part.append

    def fails_once(_part: Part, _row: Row) -> None:
        monkeypatch.setattr(Part, "append", append)
        raise sqlite3.OperationalError("disk I/O error")

    monkeypatch.setattr(Part, "append", fails_once)
    seal(signed_off, at(50), key=key)
    verdict = verify(signed_off, key=key.public)
    assert (verdict.sealed, verdict.findings) == (True, ())
    assert (signed_off / "journal-2.sqlite").exists()
    assert verdict.leg is not None
    assert verdict.leg.signed is not None


def test_a_disk_may_fail_after_the_seal(signed_off: Path) -> None:
    """A sealed leg goes on in a new file where the disk fails as its sound goes, and stays sealed."""
    seal(signed_off, at(50))
    with Journal.open(signed_off, at(60), though_sealed=True) as journal:
        journal.append(Continued(at=at(60), why="The disk failed."))
    verdict = verify(signed_off)
    assert (verdict.sealed, verdict.findings) == (True, ())
