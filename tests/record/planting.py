"""Changes planted into a leg's files by hand, of every kind that `verify` has to find."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from datetime import datetime
from typing import TYPE_CHECKING, Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from voice.record.chain import BEFORE_FIRST, Head, link
from voice.record.part import SCHEMA
from voice.record.signing import SigningKey

if TYPE_CHECKING:
    from pathlib import Path
    from random import Random

_CANONICAL: dict[str, Any] = {"sort_keys": True, "separators": (",", ":"), "ensure_ascii": False}
"""As the journal writes JSON."""


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


def forge_sealed(folder: Path, chance: Random) -> None:
    """One value changed in a sealed leg, everything after it worked out anew, also the head that the seal names."""
    number, text = chance.choice([one for one in rows(folder) if '"event":"kept"' in one[1]])
    _write_row(folder, number, text.replace(".0}", ".5}"))
    rechain(folder, heads_too=True)
    number, text = rows(folder)[-1]
    before = _hash(folder, number - 1)
    _write_row(folder, number, json.dumps(json.loads(text) | {"head": before}, **_CANONICAL))
    rechain(folder, heads_too=True)


def strip_signature(folder: Path, chance: Random) -> None:
    """A forged leg, sealed as if it had never been signed."""
    forge_sealed(folder, chance)
    number, text = rows(folder)[-1]
    _write_row(folder, number, json.dumps(json.loads(text) | {"signature": None}, **_CANONICAL))
    rechain(folder, heads_too=True)


def sign_anew(folder: Path, chance: Random) -> None:
    """A forged leg, signed in the same name with another key."""
    forge_sealed(folder, chance)
    number, text = rows(folder)[-1]
    sealed = json.loads(text)
    key = SigningKey(sealed["signature"]["by"], Ed25519PrivateKey.generate())
    head = Head(number - 1, sealed["head"])
    signature = key.sign(folder.name, head, datetime.fromisoformat(sealed["at"]))
    sealed["signature"] = signature.model_dump()
    _write_row(folder, number, json.dumps(sealed, **_CANONICAL))
    rechain(folder, heads_too=True)


def cut_seal_off(folder: Path, _chance: Random) -> None:
    """The seal gone, with its signature and its head, so that the leg takes more."""
    cut_off(folder, len(rows(folder)) - 1)


def change_signature(folder: Path, chance: Random) -> None:
    """Another letter in the signature, or another name; every hash worked out anew."""
    number, text = rows(folder)[-1]
    sealed = json.loads(text)
    if chance.random() < 0.5:
        sealed["signature"]["by"] += chance.choice("abcdef")
    else:
        value = sealed["signature"]["value"]
        at = chance.randrange(len(value))
        other = chance.choice([c for c in "0123456789abcdef" if c != value[at]])
        sealed["signature"]["value"] = f"{value[:at]}{other}{value[at + 1 :]}"
    _write_row(folder, number, json.dumps(sealed, **_CANONICAL))
    rechain(folder, heads_too=True)


def _write_row(folder: Path, number: int, text: str) -> None:
    text = text.replace("'", "''")
    unguarded(folder, f"UPDATE event SET text = '{text}' WHERE number = {number}")


def _hash(folder: Path, number: int) -> str:
    with closing(sqlite3.connect(folder / "journal.sqlite")) as db:
        (digest,) = db.execute("SELECT hash FROM event WHERE number = ?", (number,)).fetchone()
    return str(digest)


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
SEEN_BY_KEY = (forge_sealed, strip_signature, sign_anew, cut_seal_off, change_signature)
"""Kinds, in a signed leg, of which the public key tells."""
