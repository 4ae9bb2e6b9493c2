"""Compiled acceptors, kept from one start to the next: compiling takes seconds, reading a tenth.

What is kept is named by a digest of the phrases and of the code that compiles them, and holds a
digest of itself: what is of another grammar is never found, and what is damaged is compiled anew.
Nothing depends on it being there.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import platformdirs

import voice
from voice.meaning.acceptor_bytes import as_bytes, from_bytes
from voice.meaning.compiling import compiled_apart

if TYPE_CHECKING:
    from voice.meaning.acceptor import Acceptor
    from voice.meaning.grammar import Grammar
    from voice.meaning.listening import Listening

MOST = 12
"""How many are kept: those used last."""


def cache_folder() -> Path:
    """Where acceptors are kept: under LEGBOOK_HOME where it is set, else in the user's cache."""
    home = os.environ.get("LEGBOOK_HOME")
    return (Path(home) / "cache" if home else platformdirs.user_cache_path("legbook")) / "acceptors"


def acceptor(grammar: Grammar, state: Listening, folder: Path | None = None) -> Acceptor:
    """The phrases that are legal in ``state``, kept or compiled."""
    folder = folder or cache_folder()
    name = f"{grammar.digest}{_code()}{grammar.alike(state)}"
    file = folder / f"{hashlib.sha256(name.encode()).hexdigest()}.json"
    with suppress(OSError, ValueError, LookupError, TypeError):
        kept = from_bytes(file.read_bytes())
        with suppress(OSError):
            file.touch()
        return kept
    compiled = compiled_apart(grammar.expression(state))
    with suppress(OSError):
        _write(file, as_bytes(compiled))
    return compiled


@cache
def _code() -> str:
    """A digest of the code between phrase files and acceptors."""
    root = Path(voice.__file__).parent
    files = sorted(f for part in ("entries", "meaning") for f in (root / part).rglob("*.py"))
    return hashlib.sha256(b"\0".join(f.read_bytes() for f in files)).hexdigest()


def _write(file: Path, raw: bytes) -> None:
    """Keep it whole or not at all; the oldest go."""
    file.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(dir=file.parent, suffix=".new", delete=False) as new:
        new.write(raw)
    Path(new.name).replace(file)
    kept = sorted(file.parent.glob("*.json"), key=lambda f: f.stat().st_mtime, reverse=True)
    for old in kept[MOST:]:
        old.unlink()
