"""Changes planted into a leg's files by hand, of every kind that `verify` has to find."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

from voice.record.chain import BEFORE_FIRST, link
from voice.record.part import SCHEMA

if TYPE_CHECKING:
    from pathlib import Path
    from random import Random


def unguarded(folder: Path, *statements: str) -> None:
    """Run statements with the guards taken out, then put the guards back."""
    with closing(sqlite3.connect(folder / "journal.sqlite")) as db, db:
        db.execute("PRAGMA synchronous = OFF")
        for guard in SCHEMA[1:]:
            db.execute(f"DROP TRIGGER {guard.split()[2]}")
        for statement in statements:
            db.execute(statement)
        for guard in SCHEMA[1:]:
            db.execute(guard)


def rows(folder: Path) -> list[tuple[int, str]]:
    """Number and text of every event."""
    with closing(sqlite3.connect(folder / "journal.sqlite")) as db:
        return list(db.execute("SELECT number, text FROM event ORDER BY number"))


def rechain(folder: Path, *, heads_too: bool = False) -> None:
    """Work every hash out anew, as a skilled hand would after a change."""
    statements, heads, previous = [], [], BEFORE_FIRST
    for number, text in rows(folder):
        digest = link(previous, text)
        statements.append(
            f"UPDATE event SET previous = '{previous}', hash = '{digest}' WHERE number = {number}"
        )
        heads.append(f"{number} {digest}\n")
        previous = digest
    unguarded(folder, *statements)
    if heads_too:
        (folder / "head").write_text("".join(heads))


def cut_off(folder: Path, last: int) -> None:
    """Cut off all events after ``last``, together with their heads: nothing inside tells of it."""
    unguarded(folder, f"DELETE FROM event WHERE number > {last}")
    lines = (folder / "head").read_text().split("\n")
    (folder / "head").write_text(
        "\n".join(line for line in lines if line and int(line.split()[0]) <= last)
    )


def change_row(folder: Path, chance: Random) -> None:
    """Another character somewhere in an event, its hash, or the hash before it."""
    number, _text = chance.choice(rows(folder))
    column = chance.choice(("text", "previous", "hash"))
    with closing(sqlite3.connect(folder / "journal.sqlite")) as db:
        select = f"SELECT {column} FROM event WHERE number = {number}"
        (old,) = db.execute(select).fetchone()
    at = chance.randrange(len(old))
    other = chance.choice([c for c in "0123456789abcdef" if c != old[at]])
    new = f"{old[:at]}{other}{old[at + 1 :]}".replace("'", "''")
    unguarded(folder, f"UPDATE event SET {column} = '{new}' WHERE number = {number}")


def remove_rows(folder: Path, chance: Random) -> None:
    """One event gone, or a few, from anywhere."""
    numbers = [number for number, _ in rows(folder)]
    gone = chance.sample(numbers, chance.randint(1, 4))
    unguarded(folder, f"DELETE FROM event WHERE number IN ({', '.join(map(str, gone))})")


def reorder_rows(folder: Path, chance: Random) -> None:
    """Two events in each other's place; half of the time with every hash worked out anew."""
    one, other = chance.sample([number for number, _ in rows(folder)], 2)
    unguarded(
        folder,
        f"UPDATE event SET number = -1 WHERE number = {one}",
        f"UPDATE event SET number = {one} WHERE number = {other}",
        f"UPDATE event SET number = {other} WHERE number = -1",
    )
    if chance.random() < 0.5:
        rechain(folder)


def cut_rows_off(folder: Path, chance: Random) -> None:
    """Some events gone from the end; their heads stay."""
    unguarded(folder, f"DELETE FROM event WHERE number > {chance.randrange(len(rows(folder)))}")


def cut_off_with_heads(folder: Path, chance: Random) -> None:
    """Some events gone from the end, and their heads with them."""
    cut_off(folder, chance.randrange(1, len(rows(folder))))


def forge(folder: Path, chance: Random) -> None:
    """One value changed, and every hash and head after it worked out anew."""
    number, text = chance.choice([one for one in rows(folder) if '"event":"kept"' in one[1]])
    text = text.replace(".0}", ".5}").replace("'", "''")
    unguarded(folder, f"UPDATE event SET text = '{text}' WHERE number = {number}")
    rechain(folder, heads_too=True)


def _clips(folder: Path) -> list[Path]:
    return sorted((folder / "clips").iterdir())


def change_clip(folder: Path, chance: Random) -> None:
    """Another byte somewhere in a clip."""
    clip = chance.choice(_clips(folder))
    content = bytearray(clip.read_bytes())
    content[chance.randrange(len(content))] ^= chance.randint(1, 255)
    clip.write_bytes(bytes(content))


def remove_clip(folder: Path, chance: Random) -> None:
    """A clip gone."""
    chance.choice(_clips(folder)).unlink()


def swap_clips(folder: Path, chance: Random) -> None:
    """Two clips under each other's name."""
    one, other = chance.sample(_clips(folder), 2)
    content = one.read_bytes()
    one.write_bytes(other.read_bytes())
    other.write_bytes(content)


def cut_clip_off(folder: Path, chance: Random) -> None:
    """A clip without its end."""
    clip = chance.choice(_clips(folder))
    content = clip.read_bytes()
    clip.write_bytes(content[: chance.randrange(len(content))])


SEEN_INSIDE = (
    change_row,
    remove_rows,
    reorder_rows,
    cut_rows_off,
    change_clip,
    remove_clip,
    swap_clips,
    cut_clip_off,
)
"""Kinds that the folder itself tells of."""
SEEN_BY_CODE = (cut_off_with_heads, forge)
"""Kinds that only a code outside the folder tells of."""
