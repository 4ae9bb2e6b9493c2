from __future__ import annotations

import errno
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing, suppress
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from filelock import FileLock
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.record.conftest import START, at, fill, kept, sound
from tests.record.planting import rechain, unguarded
from voice.entries.leg import LegSettings
from voice.entries.review import Reviewer
from voice.record.chain import Head, next_row
from voice.record.desk_events import DeskApproved
from voice.record.errors import JournalBusyError, JournalError
from voice.record.events import LegEnded, Sealed, to_text
from voice.record.journal import Journal
from voice.record.part import SCHEMA, Part
from voice.record.places import legs_root, spare_root
from voice.record.shelf import free_leg_id, legs, load, load_until, spare_folder, verify

Planting = Callable[[Path], object]


def change(folder: Path) -> None:
    """Change a value in one row."""
    unguarded(folder, "UPDATE event SET text = replace(text, '12.0', '21.0') WHERE number = 6")


def change_and_rechain(folder: Path, *, heads_too: bool = False) -> None:
    """Change a value and work every later hash out anew, as a skilled hand would."""
    change(folder)
    rechain(folder, heads_too=heads_too)


def swap(folder: Path) -> None:
    """Let two rows change places."""
    unguarded(
        folder,
        "UPDATE event SET number = -1 WHERE number = 5",
        "UPDATE event SET number = 5 WHERE number = 6",
        "UPDATE event SET number = 6 WHERE number = -1",
    )


def edit_clip(folder: Path) -> None:
    """Change one byte of a clip."""
    path = folder / "clips" / "0002.flac"
    path.write_bytes(path.read_bytes()[:-1] + b"\x00")


def unguard(folder: Path) -> None:
    """Take one trigger out for good."""
    with closing(sqlite3.connect(folder / "journal.sqlite")) as db, db:
        db.execute("DROP TRIGGER never_changed")


def edit_head(folder: Path) -> None:
    """Change one line of the head file."""
    path = folder / "head"
    lines = path.read_text().splitlines()
    path.write_text("\n".join(f"5 {'0' * 64}" if line[:2] == "5 " else line for line in lines))


def begin_head_anew(folder: Path) -> None:
    """Leave only the last heads that were noted."""
    path = folder / "head"
    path.write_text("\n".join(path.read_text().splitlines()[-4:]))


def overwrite_middle(folder: Path) -> None:
    """Spoil a stretch of the database file that holds an event."""
    path = folder / "journal.sqlite"
    content = bytearray(path.read_bytes())
    start = content.index(b'"event":"kept"')
    content[start : start + 200] = b"\x7f" * 200
    path.write_bytes(bytes(content))


PLANTED: dict[str, tuple[Planting, str]] = {
    "changed": (change, "Event 6 was changed"),
    "changed and rechained": (change_and_rechain, "Event 6 is not the one that was noted"),
    "removed": (lambda f: unguarded(f, "DELETE FROM event WHERE number = 4"), "4 is missing"),
    "removed several": (
        lambda f: unguarded(f, "DELETE FROM event WHERE number IN (4, 5, 6)"),
        "Events 4 to 6 are missing",
    ),
    "first removed": (lambda f: unguarded(f, "DELETE FROM event WHERE number = 1"), "1 is missing"),
    "cut off": (
        lambda f: unguarded(f, "DELETE FROM event WHERE number > 9"),
        "ends with event 9, but 11 were kept",
    ),
    "last cut off": (lambda f: unguarded(f, "DELETE FROM event WHERE number = 11"), "cut off"),
    "emptied": (lambda f: unguarded(f, "DELETE FROM event"), "cut off"),
    "reordered": (swap, "Event 5 does not follow"),
    "guard taken out": (unguard, "guards that keep it from being changed"),
    "table taken out": (
        lambda f: unguarded(f, "DROP TABLE event", SCHEMA[0]),
        "cut off",
    ),
    "clip changed": (edit_clip, "Sound clip 0002.flac was changed"),
    "clip missing": (lambda f: (f / "clips" / "0002.flac").unlink(), "0002.flac is missing"),
    "clips missing": (lambda f: shutil.rmtree(f / "clips"), "0001.flac is missing"),
    "head changed": (edit_head, "Event 5 is not the one"),
    "head missing": (lambda f: (f / "head").unlink(), "is missing or empty"),
    "head emptied": (lambda f: (f / "head").write_bytes(b""), "is missing or empty"),
    "head begun anew": (begin_head_anew, "does not know event 1."),
    "no database": (
        lambda f: (f / "journal.sqlite").write_text("x" * 5000),
        "cannot be read",
    ),
    "empty database": (lambda f: (f / "journal.sqlite").write_bytes(b""), "cut off"),
    "overwritten": (overwrite_middle, ""),
    "journal missing": (lambda f: (f / "journal.sqlite").unlink(), "ends with event 0, but 11"),
}


@pytest.mark.parametrize("name", PLANTED)
def test_every_planted_change_is_found(kept_leg: Path, name: str) -> None:
    """Each kind of change to a leg's files is found and named."""
    assert verify(kept_leg).findings == ()
    plant, sentence = PLANTED[name]
    plant(kept_leg)
    verdict = verify(kept_leg)
    assert not verdict.intact
    assert sentence in " ".join(verdict.findings)


@pytest.mark.parametrize("lose", [lambda head: head.unlink(), lambda head: head.write_bytes(b"")])
def test_a_missing_head_file_is_not_told_as_a_crash(
    kept_leg: Path, lose: Callable[[Path], object]
) -> None:
    """Of a head file that is gone, one sentence says so, and none that nothing was lost."""
    lose(kept_leg / "head")
    verdict = verify(kept_leg)
    assert len(verdict.findings) == 1
    assert verdict.notes == ()


def test_a_wholly_new_chain_shows_in_the_head(kept_leg: Path) -> None:
    """A chain forged with its head file has another head than the one noted elsewhere."""
    noted = verify(kept_leg).head
    change_and_rechain(kept_leg, heads_too=True)
    assert verify(kept_leg).intact
    assert verify(kept_leg).head != noted


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE event SET text = ''",
        "DELETE FROM event",
        "INSERT OR REPLACE INTO event SELECT number, previous, '', hash FROM event",
        "INSERT INTO event SELECT number + 99, hash, '', '' FROM event ORDER BY number DESC",
    ],
)
def test_the_database_itself_refuses_changes(kept_leg: Path, statement: str) -> None:
    """Plain SQL can neither change nor remove a row, nor add one out of place."""
    with (
        closing(sqlite3.connect(kept_leg / "journal.sqlite")) as db,
        pytest.raises(sqlite3.IntegrityError, match="a journal"),
    ):
        db.execute(statement)
    assert verify(kept_leg).intact


def test_a_clip_without_event_is_noted(kept_leg: Path) -> None:
    """A clip whose event a crash prevented is mentioned and is no damage."""
    with Journal.open(kept_leg, at(41)) as journal:
        journal.add_clip(sound())
    verdict = verify(kept_leg)
    assert verdict.intact
    assert verdict.notes == ("No event names sound clip 0004.flac.",)


def test_a_damaged_leg_gives_what_still_stands(kept_leg: Path) -> None:
    """Of a damaged leg all that is as written is loaded, with the damage among its notices."""
    change(kept_leg)
    leg = load(kept_leg)
    assert [e.number for e in leg.entries] == [1, 3]
    assert [n.text for n in leg.notices] == [
        "Damage: Event 6 was changed.",
        "Damage: Event 7 does not fit: There is no entry 2.",
    ]


def test_the_list_shows_damaged_legs_as_damaged(kept_leg: Path) -> None:
    """A damaged leg stands in the list, told as damaged, beside the others."""
    root = kept_leg.parent
    for name, plant in {"a": change, "b": PLANTED["no database"][0]}.items():
        shutil.copytree(kept_leg, root / name)
        plant(root / name)
    earlier = Journal.create(
        root / "c", LegSettings(), START - timedelta(days=1), grammar_digest="", model_digest=""
    )
    earlier.seal(at(0))
    earlier.close()
    (root / "no leg").mkdir()
    (root / "killed at its start").mkdir()
    Part.create(root / "killed at its start" / "journal.sqlite").close()
    listed = legs(root)
    assert [one.id for one in listed] == ["c", kept_leg.name, "a", "b"]
    assert [one.sealed for one in listed] == [True, False, False, False]
    assert [bool(one.findings) for one in listed] == [False, False, True, True]
    assert [one.leg is None for one in listed] == [False, False, False, True]
    with pytest.raises(JournalError, match="Nothing can be read of leg b"):
        load(root / "b")


def test_the_list_may_be_empty(tmp_path: Path) -> None:
    """No folder at all is a list of no legs."""
    assert legs(tmp_path / "none") == ()
    with pytest.raises(JournalError, match="no leg in"):
        verify(tmp_path / "none")


def test_a_leg_whose_journal_is_gone_is_not_forgotten(kept_leg: Path) -> None:
    """A leg without its journal stands in the list as damaged."""
    (kept_leg / "journal.sqlite").unlink()
    (listed,) = legs(kept_leg.parent)
    assert (listed.id, listed.leg) == (kept_leg.name, None)
    assert "cut off" in listed.findings[0]


def test_a_leg_in_the_place_of_another_is_found(kept_leg: Path) -> None:
    """A whole journal under the name of another leg is not that leg's."""
    other = kept_leg.rename(kept_leg.with_name("2026-05-01-1500"))
    assert verify(other).findings == (
        "It is the journal of leg 2026-05-01-1400, under another name.",
    )


def test_a_leg_gets_a_free_id(kept_leg: Path, tmp_path: Path) -> None:
    """A new leg's id tells its start and is not taken."""
    assert free_leg_id(kept_leg.parent, START) == "2026-05-01-1400-2"
    assert free_leg_id(tmp_path / "none", START) == "2026-05-01-1400"


def test_the_home_can_be_chosen(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """LEGBOOK_HOME says where legs are kept; without it, the user's own data folder."""
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    assert legs_root() == tmp_path / "legs"
    monkeypatch.delenv("LEGBOOK_HOME")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert legs_root().name == "legs"
    assert "legbook" in legs_root().parts


def test_the_spare_can_be_chosen(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """LEGBOOK_SPARE says where legs go on when a disk fails; without it there is no such place."""
    monkeypatch.setenv("LEGBOOK_SPARE", str(tmp_path))
    assert spare_root() == tmp_path / "legs"
    assert spare_folder(Path("any", "2026-05-01-1400")) == tmp_path / "legs" / "2026-05-01-1400"
    monkeypatch.delenv("LEGBOOK_SPARE")
    assert spare_root() is None
    assert spare_folder(Path("any")) is None


def add_row(folder: Path, text: str) -> None:
    """Add a row that fits the chain, whatever it tells, and note it as the head."""
    with closing(sqlite3.connect(folder / "journal.sqlite")) as db, db:
        query = "SELECT number, hash FROM event ORDER BY number DESC LIMIT 1"
        row = next_row(Head(*db.execute(query).fetchone()), text)
        db.execute("INSERT INTO event VALUES (?, ?, ?, ?)", row)
    with (folder / "head").open("a") as head:
        head.write(f"\n{row.number} {row.hash}")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("not JSON", "cannot be understood by this version"),
        ('{"event":"new_kind"}', "cannot be understood by this version"),
        (to_text(kept(2)), "does not fit: Entry 2 is there already"),
        (to_text(Sealed(at=at(50), head="0" * 64)), "The seal names another head"),
    ],
)
def test_a_row_that_makes_no_sense_is_named(kept_leg: Path, text: str, sentence: str) -> None:
    """A well chained row is not enough: what it tells must be an event that fits the leg."""
    add_row(kept_leg, text)
    assert sentence in verify(kept_leg).findings[0]
    assert len(load(kept_leg).entries) == 3


anything = st.none() | st.integers(-5, 2**62) | st.text() | st.binary() | st.floats()


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=st.lists(st.tuples(*[anything] * 4)), heads=st.text())
def test_rubbish_is_damage_and_no_crash(
    tmp_path: Path, rows: list[tuple[object, ...]], heads: str
) -> None:
    """Whatever lies in the database and the head file, looking at it gives a verdict."""
    folder = tmp_path / "rubbish"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    with closing(sqlite3.connect(folder / "journal.sqlite")) as db, db:
        db.execute("CREATE TABLE event (number, previous, text, hash)")
        with suppress(OverflowError, UnicodeEncodeError):
            db.executemany("INSERT INTO event VALUES (?, ?, ?, ?)", rows)
    (folder / "head").write_text(heads, "utf-8", errors="replace")
    assert not verify(folder).intact
    with pytest.raises(JournalError, match="Nothing can be read"):
        load(folder)


def test_an_unreadable_clip_is_said(kept_leg: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A clip that the disk no longer gives is a finding, not a crash."""

    def refuse(_path: Path) -> bytes:
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(Path, "read_bytes", refuse)
    assert "Sound clip 0001.flac cannot be read." in verify(kept_leg).findings


@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_any_flipped_byte_of_a_row_is_found(kept_leg: Path, data: st.DataObject) -> None:
    """Whatever single character of any stored row is changed, it is found."""
    copy = kept_leg.parent / "copy"
    shutil.rmtree(copy, ignore_errors=True)
    shutil.copytree(kept_leg, copy)
    number = data.draw(st.integers(1, 11))
    column = data.draw(st.sampled_from(["previous", "text", "hash"]))
    with closing(sqlite3.connect(copy / "journal.sqlite")) as db:
        query = f"SELECT {column} FROM event WHERE number = {number}"
        (content,) = db.execute(query).fetchone()
    place = data.draw(st.integers(0, len(content) - 1))
    other = "x" if content[place] != "x" else "y"
    changed = (content[:place] + other + content[place + 1 :]).replace("'", "''")
    unguarded(copy, f"UPDATE event SET {column} = '{changed}' WHERE number = {number}")
    assert not verify(copy).intact


def test_a_running_leg_can_be_read(journal: Journal, folder: Path) -> None:
    """A leg that is being written reads as whole at every moment."""
    for number in range(1, 6):
        journal.append(kept(number))
        assert verify(folder).findings == ()
        assert load(folder) == journal.leg()


NOW = at(3 * 24 * 60)
"""Three days after the leg began."""


def until(folder: Path) -> datetime:
    """Up to when a leg counts that is looked at three days later."""
    return load_until(folder, NOW)[1]


def test_a_leg_that_is_flown_counts_up_to_now(journal: Journal, folder: Path) -> None:
    """While a program holds a leg it counts up to now, and is not disturbed by being looked at."""
    fill(journal, 2)
    assert until(folder) == NOW
    journal.append(kept(3))
    with pytest.raises(JournalBusyError):
        Journal.open(folder, NOW)


def test_a_leg_counts_no_less_than_is_known_of_it(journal: Journal, folder: Path) -> None:
    """While a leg is flown by a clock that is ahead, or after the wall's was set back, its time does not run back."""
    fill(journal, 2)
    assert load_until(folder, at(-60))[1] == at(2)


def test_a_leg_that_was_broken_off_counts_up_to_its_last_event(
    journal: Journal, folder: Path
) -> None:
    """Once no program holds it, and where a crash left the lock lying about, it counts no further."""
    fill(journal, 2)
    journal.close()
    assert until(folder) == at(2)
    (folder / "lock").touch()
    assert until(folder) == at(2)
    with Journal.open(folder, at(10)) as again:
        assert until(folder) == NOW
        again.append(LegEnded(at=at(11)))
        assert until(folder) == at(11)


def test_who_holds_a_leg_at_the_desk_does_not_fly_it(journal: Journal, folder: Path) -> None:
    """While the desk writes to a leg that was broken off, it still counts up to its last event."""
    fill(journal, 2)
    by = Reviewer(name="R. Sand", role="charge nurse")
    journal.append(DeskApproved(at=at(5000), by=by, number=1, why="heard"))
    assert until(folder) == at(2)


def test_a_leg_that_goes_on_in_the_spare_is_flown(
    create: Callable[[Path], Journal], folder: Path, spare: Path
) -> None:
    """The lock of either folder tells that a program writes the leg."""
    journal = create(spare)
    fill(journal, 2)
    spare.mkdir(parents=True)
    with FileLock(spare / "lock", timeout=0):
        journal.close()
        assert load_until(folder, NOW, spare)[1] == NOW
    assert load_until(folder, NOW, spare)[1] == at(2)


def test_where_nothing_can_be_written_nobody_flies(
    journal: Journal, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a disk that takes no lock a leg counts up to its last event."""
    fill(journal, 2)
    journal.close()
    (folder / "lock").touch()

    def refuse(_lock: FileLock) -> None:
        raise OSError(errno.EROFS, "Read-only file system")

    monkeypatch.setattr(FileLock, "acquire", refuse)
    assert until(folder) == at(2)
