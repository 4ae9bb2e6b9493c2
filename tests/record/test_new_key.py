"""Legs written anew under another data key. That it may be broken off anywhere: ``tests/record/faults/test_renewal.py``."""

from __future__ import annotations

import errno
import os
import shutil
from contextlib import closing
from pathlib import Path
from threading import Timer

import pytest
from filelock import FileLock

from tests.record.conftest import START, at, fill, kept, sound
from voice.entries.leg import LegSettings
from voice.record import protecting
from voice.record.converting import Converted, convert
from voice.record.data_key import DataKey
from voice.record.durable import beside
from voice.record.errors import JournalError
from voice.record.events import LegEnded
from voice.record.in_use import changing, standing_by
from voice.record.journal import Journal
from voice.record.part import Part, is_plain, key_that_opens
from voice.record.places import legs_root
from voice.record.protection import (
    NAME,
    OPENED,
    PASSPHRASE,
    Lock,
    LockedError,
    OtherMachineError,
    new_data_key,
    open_with,
    own_lock,
)
from voice.record.retention import Policy, drop_sound
from voice.record.sealing import seal
from voice.record.shelf import load, verify

OLD, NEW = "tall pines and rain", "another day of rain"


@pytest.fixture(autouse=True)
def home(home_of_keys: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A machine of this test only, that protects legs and is told the old passphrase."""
    monkeypatch.setenv(PASSPHRASE, OLD)
    protecting.switch_on(OLD.encode())
    return home_of_keys


def flown(folder: Path, spare: Path | None = None) -> Path:
    """A leg with three entries and sounds."""
    with Journal.create(
        folder, LegSettings(), START, grammar_digest="", model_digest="", spare=spare
    ) as journal:
        fill(journal)
        journal.append(LegEnded(at=at(40)))
    return folder


def own() -> Lock:
    """The machine's lock."""
    lock = own_lock()
    assert lock is not None
    return lock


def told(monkeypatch: pytest.MonkeyPatch, passphrase: str) -> None:
    """A new start, that is told another passphrase."""
    OPENED.forget()
    monkeypatch.setenv(PASSPHRASE, passphrase)


def test_the_old_passphrase_with_an_old_copy_opens_nothing_of_today(
    home: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After another key the leg is the same, and neither the key of before nor a lock of before opens any file of it."""
    flown(folder)
    seal(folder, at(50), unsigned=True)
    before, copy = verify(folder), (folder / NAME).read_bytes()
    stolen = open_with(Lock.model_validate_json(copy), OLD.encode())
    assert stolen is not None
    assert convert(folder, None, protecting.renew(NEW.encode())).changed == 4
    protecting.renewed()
    assert key_that_opens(folder / "journal.sqlite", [stolen]) is None
    for clip in (folder / "clips").iterdir():
        assert stolen.open_sound(clip.name, clip.read_bytes()) is None
    for lock in (own(), Lock.model_validate_json((folder / NAME).read_bytes())):
        assert open_with(lock, OLD.encode()) is None
        assert all(stolen.open_key(one) is None for one in lock.earlier)
    told(monkeypatch, NEW)
    assert verify(folder) == before
    assert before.sealed
    (home / NAME).unlink()
    told(monkeypatch, NEW)
    assert verify(folder) == before


def test_an_old_copy_of_a_leg_opens_by_the_new_passphrase_where_the_key_is_known(
    folder: Path, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A backup from before two changes that is put back opens, and is written anew by the next call."""
    flown(folder)
    shutil.copytree(folder, home / "backup")
    for secret in (b"a day between the two", NEW.encode()):
        convert(folder, None, protecting.renew(secret))
        protecting.renewed()
    assert len(own().earlier) == 2
    shutil.rmtree(folder)
    shutil.copytree(home / "backup", folder)
    told(monkeypatch, NEW)
    assert verify(folder).findings == ()
    assert convert(folder, None, own()) == Converted(4)
    assert convert(folder, None, own()) == Converted(0)
    assert verify(folder).findings == ()


def test_an_old_copy_opens_by_what_opened_it_then(
    folder: Path, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who gives the old passphrase for a leg from before the change is not refused."""
    flown(folder)
    protecting.renew(NEW.encode())
    told(monkeypatch, OLD)
    assert verify(folder).findings == ()
    (home / NAME).unlink()
    told(monkeypatch, OLD)
    assert verify(folder).findings == ()


def test_another_passphrase_later_keeps_the_keys_of_before(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A change of the passphrase alone, before every leg was reached, loses no leg."""
    flown(folder)
    protecting.renew(NEW.encode())
    lock = protecting.change(b"the third of them all")
    protecting.lock_anew(folder, None, lock)
    assert lock.renewing
    told(monkeypatch, "the third of them all")
    assert verify(folder).findings == ()
    convert(folder, None, own())
    protecting.renewed()
    assert not own().renewing
    assert verify(folder).findings == ()


def test_a_leg_whose_spare_is_not_here_waits_for_it(folder: Path, spare: Path, home: Path) -> None:
    """A leg that went on in a spare folder is written anew only with that, and opens by itself until then."""
    with Journal.create(
        folder, LegSettings(), START, grammar_digest="", model_digest="", spare=spare
    ) as journal:
        assert journal._part is not None
        journal._part.close()
        with pytest.raises(JournalError):
            journal.append(kept(1))
        journal.carry_on(at(2))
        journal.append(kept(1))
        journal.add_clip(sound())
    spare.rename(home / "unplugged")
    lock = protecting.renew(NEW.encode())
    with pytest.raises(JournalError, match="bring that disk back"):
        convert(folder, spare, lock)
    (home / "unplugged").rename(spare)
    assert verify(folder, spare).findings == ()
    assert convert(folder, spare, lock).changed == 3
    assert verify(folder, spare).findings == ()


def test_sound_in_a_spare_that_was_away_is_heard_all_the_same(folder: Path, spare: Path) -> None:
    """Sound that only the spare holds, still under the key of before, opens when it is back."""
    with Journal.create(
        folder, LegSettings(), START, grammar_digest="", model_digest="", spare=spare
    ) as journal:
        fill(journal, 1)
    (spare / "clips").mkdir(parents=True)
    (folder / "clips" / "0001.flac").rename(spare / "clips" / "0001.flac")
    shutil.copy(folder / NAME, spare / NAME)
    convert(folder, None, protecting.renew(NEW.encode()))
    assert verify(folder, spare).findings == ()


def test_sound_that_no_key_opens_stays_and_is_told(folder: Path) -> None:
    """A sound that was changed stays as it is; all else is written anew."""
    clip = flown(folder) / "clips" / "0002.flac"
    changed = clip.read_bytes()[:-1] + b"?"
    clip.write_bytes(changed)
    assert convert(folder, None, protecting.renew(NEW.encode())) == Converted(3, ("0002.flac",))
    assert clip.read_bytes() == changed
    assert verify(folder).findings == ("Sound clip 0002.flac was changed.",)


def test_what_was_left_half_done_in_clear_does_not_stay(folder: Path) -> None:
    """What a kill left while protection was taken off is removed by the next call, and sound by dropping the sound."""
    flown(folder)
    left = [beside(folder / "journal.sqlite"), beside(folder / "clips" / "0001.flac")]
    for file in left:
        file.write_bytes(b"in clear")
    convert(folder, None, own())
    assert not any(file.exists() for file in left)
    left[1].write_bytes(b"in clear")
    drop_sound(folder, Policy(after_days=0), at(80))
    assert not left[1].exists()


def test_a_leg_whose_lock_is_damaged_keeps_its_key(folder: Path) -> None:
    """It is not taken for one of another machine, whose legs `protect off` leaves, and after them the key."""
    (flown(folder) / NAME).write_text("{")
    with pytest.raises(LockedError, match="is damaged") as refused:
        convert(folder, None, protecting.switch_off())
    assert not isinstance(refused.value, OtherMachineError)


def test_a_journal_that_rested_while_the_key_changed_is_opened_anew(folder: Path) -> None:
    """It tells that somebody has changed the leg, whose file is another one, and what is written then is under the new key."""
    flown(folder)
    journal = Journal.open(folder, at(50))
    journal.rest()
    assert journal.wake()
    journal.rest()
    convert(folder, None, protecting.renew(NEW.encode()))
    assert not journal.wake()
    journal.close()
    with Journal.open(folder, at(51)) as opened:
        opened.append(kept(4))
        opened.add_clip(sound(4))
    with closing(Part(folder / "journal.sqlite")) as part:
        assert part.last().number == 12
    assert convert(folder, None, own()) == Converted(0)


def test_a_journal_that_rested_while_protection_came_on_writes_nothing_in_clear(
    folder: Path, home: Path
) -> None:
    """What the desk adds after `protect on` lies in the encrypted file, and no further file is begun."""
    (home / NAME).unlink()
    flown(folder)
    assert is_plain(folder / "journal.sqlite")
    journal = Journal.open(folder, at(50))
    journal.rest()
    convert(folder, None, protecting.switch_on(OLD.encode()))
    assert not journal.wake()
    journal.close()
    with Journal.open(folder, at(51)) as opened:
        opened.append(kept(4))
    assert [path.name for path in folder.glob("journal*")] == ["journal.sqlite"]
    assert not is_plain(folder / "journal.sqlite")


def test_it_is_not_begun_while_switching_off_was_broken_off(folder: Path) -> None:
    """Where protection is half off no new key is made."""
    flown(folder)
    protecting.switch_off()
    with pytest.raises(JournalError, match="Switching protection off was broken off"):
        protecting.renew(NEW.encode())


def test_keys_of_before_that_were_changed_are_told(
    home: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the machine's copy of an earlier key is damaged, a leg under it says so, and opens by its own passphrase."""
    flown(folder)
    lock = protecting.renew(NEW.encode())
    spoilt = lock.earlier[0].model_copy(update={"locked": "0" * 96})
    (home / NAME).write_text(lock.model_copy(update={"earlier": (spoilt,)}).model_dump_json())
    told(monkeypatch, NEW)
    with pytest.raises(LockedError, match="is damaged"):
        load(folder)
    told(monkeypatch, OLD)
    assert len(load(folder).entries) == 3


def test_a_key_is_not_shown() -> None:
    """Nothing that is printed or written down of a data key holds its bytes."""
    key = new_data_key()
    assert repr(key) == "DataKey()"
    assert key.lock_key(key).locked != key.secret.hex()
    assert DataKey(key.secret) == key


def test_nobody_stands_by_while_the_key_changes() -> None:
    """A program with the old key in memory keeps it from being changed, and none begins meanwhile."""
    with standing_by():
        with pytest.raises(JournalError, match="listens, or has a leg open"), changing():
            pass
        with standing_by():
            pass
    with changing():
        with pytest.raises(JournalError, match="start again"), standing_by():
            pass
        with pytest.raises(JournalError, match="Nothing was done"), changing():
            pass
    with standing_by():
        pass


def test_what_somebody_put_into_a_leg_is_named_as_in_clear(folder: Path) -> None:
    """A copy of the journal, a sound beside the others, an export: all that is no file of legbook's own."""
    flown(folder)
    assert protecting.left_in_clear(folder, None) == []
    strange = [folder / "journal copy.sqlite", folder / "clips" / "one.wav", folder / "leg.json"]
    for file in strange:
        file.write_bytes(b"in clear")
    assert sorted(protecting.left_in_clear(folder, None)) == sorted(strange)


def test_what_a_link_leads_to_is_written_anew(folder: Path, home: Path) -> None:
    """Where a journal or a sound is a link to another disk, nothing stays in clear at its end."""
    convert(flown(folder), None, protecting.switch_off())
    for name in ("journal.sqlite", "clips/0001.flac"):
        moved = home / Path(name).name
        (folder / name).rename(moved)
        (folder / name).symlink_to(moved)
    assert is_plain(home / "journal.sqlite")
    assert convert(folder, None, protecting.switch_on(b"")).changed == 4
    assert not is_plain(home / "journal.sqlite")
    assert b"fLaC" not in (home / "0001.flac").read_bytes()
    assert verify(folder).findings == ()


def test_no_program_that_is_started_gets_the_passphrase(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is taken out of the environment when legbook starts, and opens the legs all the same."""
    flown(folder)
    OPENED.forget()
    monkeypatch.setattr(OPENED, "_from_environment", None)  # put back afterwards
    OPENED.hide_passphrase()
    assert PASSPHRASE not in os.environ
    assert verify(folder).findings == ()


def test_who_only_looks_keeps_nobody_from_standing_by() -> None:
    """Two programs that begin at once look at the same lock: for a moment it is held, and neither is refused."""
    with changing():
        pass
    look = FileLock(legs_root().parent / "protecting.lock", thread_local=False)
    look.acquire()
    let_go = Timer(0.05, look.release)
    let_go.start()
    with standing_by():
        let_go.join()


def test_a_dead_disk_keeps_nobody_from_standing_by(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where nothing can be locked or looked at, a leg can be begun all the same, in its spare folder."""

    def dead(*_: object, **_more: object) -> None:
        raise OSError(errno.EIO, "Input/output error", home)

    monkeypatch.setattr("voice.record.in_use.make_folder", dead)
    monkeypatch.setattr(Path, "exists", dead)
    with standing_by():
        pass
