from __future__ import annotations

import errno
import os
import shutil
import sqlite3
import stat
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
import soundfile
from filelock import FileLock
from pydantic import ValidationError

from tests.record.conftest import START, at, fill, heard, kept, sound
from voice.entries.leg import LegSettings
from voice.record.errors import (
    EventRefusedError,
    JournalBusyError,
    JournalDamagedError,
    JournalError,
)
from voice.record.events import Confirmed, LegEnded
from voice.record.journal import Journal
from voice.record.part import Part
from voice.record.shelf import legs, load, verify

if TYPE_CHECKING:
    from collections.abc import Callable


def full_disk(journal: Journal) -> None:
    """Let SQLite refuse every further page of the current file, as on a full disk."""
    assert journal._part is not None
    (pages,) = journal._part._db.execute("PRAGMA page_count").fetchone()
    journal._part._db.execute(f"PRAGMA max_page_count = {pages}")


def fail(journal: Journal) -> int:
    """Append until the disk is full; give the number of the entry that was refused."""
    full_disk(journal)
    for number in range(journal.next_number, 1000):
        try:
            journal.append(kept(number))
        except JournalError:
            return number
    raise AssertionError


def test_what_was_appended_is_read_back(journal: Journal, folder: Path) -> None:
    """Another reader gets the leg exactly as the writer has it."""
    fill(journal)
    journal.append(LegEnded(at=at(40)))
    assert load(folder) == journal.leg()
    assert [e.state for e in load(folder).entries] == ["confirmed"] * 3
    assert verify(folder).intact


def test_a_leg_goes_on_after_a_break(journal: Journal, folder: Path) -> None:
    """A reopened leg has all it had, goes on with the next number, and its chain holds."""
    fill(journal)
    before = journal.leg()
    journal.close()
    with Journal.open(folder, at(10)) as again:
        assert again.leg() == before
        assert again.next_number == 4
        again.append(kept(4))
    verdict = verify(folder)
    assert (verdict.findings, verdict.notes) == ((), ())


def test_a_clip_is_the_sound_itself(journal: Journal, folder: Path) -> None:
    """A kept clip holds the samples unchanged and is numbered after those that are there."""
    first, second = journal.add_clip(sound(1)), journal.add_clip(sound(2))
    assert (first.name, second.name) == ("0001.flac", "0002.flac")
    samples, rate_hz = soundfile.read(folder / "clips" / second.name, dtype="int16")
    assert rate_hz == 16_000
    assert np.array_equal(samples, sound(2))


def test_no_half_clip_is_left(
    journal: Journal, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A clip for which the disk has no room leaves no file that would be taken for one."""

    def refuse(_descriptor: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as full:
        full.setattr(os, "fsync", refuse)
        full.setattr("voice.record.clips.make_folder", lambda path: path.mkdir(exist_ok=True))
        with pytest.raises(JournalError, match="the disk is full"):
            journal.add_clip(sound(1))
    assert list((folder / "clips").iterdir()) == []
    clip = journal.add_clip(sound(1))
    assert [path.name for path in (folder / "clips").iterdir()] == [clip.name]


def test_sound_goes_to_the_spare_where_its_own_disk_fails(
    create: Callable[[Path], Journal], folder: Path, spare: Path
) -> None:
    """A clip that the leg's own disk does not take is kept in the spare, under a name of its own."""
    journal = create(spare)
    first = journal.add_clip(sound(1))
    shutil.move(folder / "clips", folder / "away")
    (folder / "clips").write_text("in the way")
    second = journal.add_clip(sound(2))
    (folder / "clips").unlink()
    shutil.move(folder / "away", folder / "clips")
    for clip in (first, second):
        journal.append(heard(clip))
    assert first.name != second.name
    assert (spare / "clips" / second.name).exists()
    assert verify(folder, spare).intact


def test_only_the_owner_can_read(journal: Journal, folder: Path) -> None:
    """Every file of a leg is for its owner alone."""
    fill(journal, 1)
    for path in [folder, *folder.rglob("*")]:
        mode = stat.S_IMODE(path.stat().st_mode)
        assert mode == (0o700 if path.is_dir() else 0o600), path


def test_one_writer_at_a_time(journal: Journal, folder: Path) -> None:
    """A second writer is turned away, a reader is not."""
    fill(journal, 1)
    with pytest.raises(JournalBusyError, match="another running legbook"):
        Journal.open(folder, at(2))
    assert load(folder) == journal.leg()


def test_a_leg_is_not_started_twice(journal: Journal, create: Callable[[], Journal]) -> None:
    """A leg never writes into the folder of another."""
    with pytest.raises(JournalError, match="already"):
        create()
    assert journal.leg().entries == ()


def test_a_refused_event_is_not_written(journal: Journal, folder: Path) -> None:
    """An event that contradicts the leg leaves the journal as it was and able to go on."""
    with pytest.raises(EventRefusedError, match="no entry 7"):
        journal.append(Confirmed(at=at(1), number=7))
    journal.append(kept(1))
    assert len(load(folder).entries) == 1
    assert verify(folder).intact


def test_an_event_that_could_not_be_read_back_is_not_written(
    journal: Journal, folder: Path
) -> None:
    """An event that no reader would understand never reaches the file."""
    event = Confirmed(at=at(1), number=1).model_copy(update={"number": "one"})
    with pytest.raises(ValidationError), pytest.warns(UserWarning, match="serializer"):
        journal.append(event)
    journal.append(kept(1))
    assert verify(folder).intact


def test_every_write_is_synced_to_the_disk(journal: Journal) -> None:
    """SQLite syncs file and folder on each commit, with a rollback journal that it deletes."""
    assert journal._part is not None
    assert journal._part._db.execute("PRAGMA synchronous").fetchone() == (3,)
    assert journal._part._db.execute("PRAGMA journal_mode").fetchone() == ("delete",)


def test_a_sealed_leg_takes_nothing(journal: Journal, folder: Path) -> None:
    """After sealing nothing can be added, in this program or the next."""
    fill(journal, 1)
    head = journal.seal(at(50))
    with pytest.raises(EventRefusedError, match="sealed"):
        journal.append(kept(2))
    journal.close()
    with pytest.raises(JournalError, match="sealed"):
        Journal.open(folder, at(51))
    verdict = verify(folder)
    assert (verdict.sealed, verdict.head, verdict.intact) == (True, head, True)


def test_a_full_disk_is_said_and_the_leg_goes_on_elsewhere(
    create: Callable[[Path], Journal], folder: Path, spare: Path
) -> None:
    """After a full disk the spare takes over and nothing that was taken is lost."""
    journal = create(spare)
    fill(journal)
    refused = fail(journal)
    with pytest.raises(JournalError, match="takes nothing more"):
        journal.append(kept(refused))
    journal.carry_on(at(20))
    journal.append(kept(refused))
    clip = journal.add_clip(sound(9))
    journal.append(heard(clip))
    assert (spare / "journal-2.sqlite").exists()
    assert (spare / "clips" / clip.name).exists()
    leg = load(folder, spare)
    assert leg == journal.leg()
    assert [e.number for e in leg.entries] == list(range(1, refused + 1))
    assert "the disk is full" in leg.notices[0].text
    assert verify(folder, spare).findings == ()


def test_a_missing_spare_is_missed(create: Callable[[Path], Journal], spare: Path) -> None:
    """A leg whose end lies on a disk that is not there does not look whole."""
    journal = create(spare)
    fail(journal)
    journal.carry_on(at(20))
    journal.close()
    folder = journal._folders[0]
    assert "spare folder that is not here" in verify(folder).findings[0]
    assert verify(folder, spare).intact


def test_without_a_spare_it_goes_on_beside(journal: Journal, folder: Path) -> None:
    """With no spare the journal goes on in a new file of the same folder, over a restart too."""
    refused = fail(journal)
    journal.carry_on(at(20))
    journal.append(kept(refused))
    journal.close()
    with Journal.open(folder, at(30)) as again:
        again.append(kept(refused + 1))
    assert (folder / "journal-2.sqlite").exists()
    assert len(load(folder).entries) == refused + 1
    assert verify(folder).intact


def test_a_failed_file_is_not_written_after_a_restart(journal: Journal, folder: Path) -> None:
    """A restart right after a failure opens a new file rather than try the old one again."""
    refused = fail(journal)
    journal.close()
    with Journal.open(folder, at(30)) as again:
        again.append(kept(refused))
    assert (folder / "journal-2.sqlite").exists()
    assert verify(folder).intact


def test_a_failed_sync_does_not_count_as_kept(
    create: Callable[[Path], Journal], folder: Path, spare: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the head cannot be synced the row is written again in the next file, once."""
    journal = create(spare)
    fill(journal)
    with monkeypatch.context() as broken:

        def refuse(_descriptor: int) -> None:
            raise OSError(errno.EIO, "Input/output error")

        broken.setattr(os, "fsync", refuse)
        with pytest.raises(JournalError, match="does not answer properly"):
            journal.append(kept(4))
    assert [e.number for e in journal.leg().entries] == [1, 2, 3]
    journal.carry_on(at(20))
    journal.append(kept(4))
    assert load(folder, spare) == journal.leg()
    verdict = verify(folder, spare)
    assert verdict.findings == ()
    assert "written again after a failure" in verdict.notes[0]


def test_a_head_that_was_given_up_stands_for_no_other(
    create: Callable[[Path], Journal], folder: Path, spare: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The head noted for a row that failed is not taken for that of the row in its place."""
    journal = create(spare)
    with monkeypatch.context() as broken:

        def refuse(_descriptor: int) -> None:
            raise OSError(errno.EIO, "Input/output error")

        broken.setattr(os, "fsync", refuse)
        with pytest.raises(JournalError):
            journal.append(kept(1))
    journal.carry_on(at(20))
    journal.close()
    (spare / "head").unlink()
    verdict = verify(folder, spare)
    assert verdict.findings == ()
    assert "one event behind" in verdict.notes[-1]


def test_when_no_disk_works_it_is_said(
    journal: Journal, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where nothing can be written the nurse is told to write by hand, and later tries may work."""
    fill(journal)
    refused = fail(journal)
    with monkeypatch.context() as broken:

        def refuse(*_args: object) -> int:
            raise OSError(errno.ENOSPC, "No space left on device")

        broken.setattr(os, "open", refuse)
        with pytest.raises(JournalError, match="write by hand"):
            journal.carry_on(at(20))
        with pytest.raises(JournalError, match="not kept: the disk is full"):
            journal.add_clip(sound())
    journal.carry_on(at(21))
    journal.append(kept(refused))
    assert len(load(folder).entries) == refused
    assert verify(folder).intact


def test_a_file_that_could_not_be_made_is_not_left(
    journal: Journal, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Trying again and again on a full disk leaves no heap of empty files."""
    fail(journal)

    def refuse(_part: Part) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr(Part, "_lay_out", refuse)
    for minute in range(3):
        with pytest.raises(JournalError, match="write by hand"):
            journal.carry_on(at(minute))
    assert [path.name for path in folder.glob("*.sqlite")] == ["journal.sqlite"]


def test_a_leg_starts_in_the_spare_where_its_own_disk_is_dead(
    folder: Path, spare: Path, create: Callable[[Path], Journal]
) -> None:
    """Where no folder can be made the whole leg lies in the spare, says so, and is found there."""
    folder.parent.write_text("no folder")
    journal = create(spare)
    assert journal.in_spare
    fill(journal, 1)
    assert "No new journal file can be made" in journal.leg().notices[0].text
    journal.close()
    folder.parent.unlink()
    (found,) = legs(folder.parent, spare.parent)
    assert (found.id, found.findings, found.leg) == (folder.name, (), journal.leg())
    with Journal.open(folder, at(9), spare=spare) as again:
        again.append(kept(2))
    assert verify(folder, spare).intact


def test_a_leg_whose_first_event_failed_starts_in_the_spare(
    folder: Path, spare: Path, create: Callable[[Path], Journal], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a failing disk kept of the start is given up for the start in the spare, and missed without it."""
    real = os.open

    def refuse_head(path: str | Path, *how: int) -> int:
        if Path(path) == folder / "head":
            raise OSError(errno.EIO, "Input/output error")
        return real(path, *how)

    with monkeypatch.context() as broken:
        broken.setattr(os, "open", refuse_head)
        journal = create(spare)
    fill(journal, 1)
    journal.close()
    assert (folder / "journal.sqlite").exists()
    assert verify(folder, spare).findings == ()
    assert load(folder, spare) == journal.leg()


def test_nobody_else_writes_a_leg_that_lies_in_the_spare(
    folder: Path, spare: Path, create: Callable[[Path], Journal]
) -> None:
    """A leg that began in the spare has one writer, also once its own disk answers again."""
    folder.parent.write_text("no folder")
    create(spare)
    folder.parent.unlink()
    with pytest.raises(JournalBusyError):
        Journal.open(folder, at(1), spare=spare)


def test_a_disk_that_died_between_is_gone_round(
    folder: Path, spare: Path, create: Callable[[Path], Journal], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A leg whose disk takes nothing any more at the next start goes on in the spare."""
    journal = create(spare)
    fill(journal, 1)
    journal.close()
    head = folder / "head"
    head.write_text(head.read_text()[:-9])
    real = os.open

    def refuse(path: str | Path, *how: int) -> int:
        if Path(path).parent == folder and Path(path).name != "lock":
            raise OSError(errno.EROFS, "Read-only file system")
        return real(path, *how)

    with monkeypatch.context() as broken:
        broken.setattr(os, "open", refuse)
        with Journal.open(folder, at(9), spare=spare) as again:
            again.append(kept(2))
            assert again.in_spare
            assert "the disk is read-only" in again.leg().notices[0].text
    assert verify(folder, spare).findings == ()


def test_carrying_on_needs_a_failure(journal: Journal) -> None:
    """A healthy journal is not abandoned."""
    with pytest.raises(EventRefusedError, match="has not failed"):
        journal.carry_on(at(1))


def test_a_crash_before_the_head_was_noted_is_no_tampering(journal: Journal, folder: Path) -> None:
    """A head file one line behind is told as a crash, and is brought up when the leg goes on."""
    fill(journal, 2)
    journal.close()
    head = folder / "head"
    lines = head.read_text().splitlines(keepends=True)
    head.write_text("".join(lines[:-1]) + lines[-1][:9])
    verdict = verify(folder)
    assert verdict.findings == ()
    assert "one event behind" in verdict.notes[0]
    with Journal.open(folder, at(10)) as again:
        again.append(kept(3))
    assert verify(folder).notes == ()
    assert verify(folder).intact


@pytest.mark.parametrize("torn", ["", "7 ", "\0\0\0\0 0a1b2c", "\0" * 70])
def test_a_torn_head_line_takes_none_with_it(journal: Journal, folder: Path, torn: str) -> None:
    """Whatever a power loss leaves of the last line of the head file, the lines before it stand."""
    fill(journal, 2)
    journal.close()
    head = folder / "head"
    lines = head.read_text().splitlines(keepends=True)
    head.write_text("".join(lines[:-2]) + torn)
    with Journal.open(folder, at(10)) as again:
        again.append(kept(3))
    assert verify(folder).findings == ()


def test_a_damaged_leg_is_not_written_to(journal: Journal, folder: Path) -> None:
    """A leg that is not as it was written is left as it is."""
    fill(journal, 2)
    journal.close()
    (folder / "head").unlink()
    with pytest.raises(JournalDamagedError, match="start a new leg"):
        Journal.open(folder, at(10))


def test_a_missing_leg_is_said(folder: Path) -> None:
    """Opening a leg that is not there says where it was looked for."""
    with pytest.raises(JournalError, match="no leg in"):
        Journal.open(folder, at(0))


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    """Starting a leg where no folder can be made gives a sentence."""
    (tmp_path / "legs").write_text("")
    with pytest.raises(JournalError, match="cannot be started"):
        Journal.create(
            tmp_path / "legs" / "a", LegSettings(), START, grammar_digest="", model_digest=""
        )


def test_a_leg_that_cannot_be_written_is_not_started(
    create: Callable[[], Journal], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the first event cannot be synced there is no leg, and nothing is held on to."""
    make_file = os.open

    def refuse_head(path: str, *args: int) -> int:
        if str(path).endswith("head"):
            raise OSError(errno.EROFS, "Read-only file system")
        return make_file(path, *args)

    with monkeypatch.context() as broken:
        broken.setattr(os, "open", refuse_head)
        with pytest.raises(JournalError, match="the disk is read-only"):
            create()


def test_a_leg_on_a_dead_disk_is_not_opened(
    journal: Journal, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a leg cannot be brought up to date it is not written to, and why is said."""
    fill(journal, 1)
    journal.close()
    head = folder / "head"
    head.write_text(head.read_text()[:-9])

    def refuse(_descriptor: int) -> None:
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(JournalError, match="cannot be opened: the disk does not answer"):
        Journal.open(folder, at(2))


def test_a_folder_that_cannot_be_locked_is_said(
    journal: Journal, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where even the lock cannot be had, why is said."""
    journal.close()

    def refuse(_self: FileLock) -> None:
        raise OSError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(FileLock, "acquire", refuse)
    with pytest.raises(JournalError, match="access to the folder is not allowed"):
        Journal.open(folder, at(2))


def test_two_programs_that_begin_the_same_leg_do_not_mix_it(
    create: Callable[[Path | None], Journal],
    folder: Path,
    spare: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Who is second, by a moment, is refused, also where there is a spare folder, and the first one's leg stays whole."""
    first = create(spare)
    monkeypatch.setattr("voice.record.journal.is_there", lambda _folder: False)
    with pytest.raises(JournalError, match="There is a leg 2026-05-01-1400 already"):
        create(spare)
    monkeypatch.undo()
    first.append(kept(1))
    first.close()
    assert not spare.exists()
    assert verify(folder, spare).findings == ()
    with pytest.raises(JournalError, match="There is a leg 2026-05-01-1400 already"):
        create(spare)
