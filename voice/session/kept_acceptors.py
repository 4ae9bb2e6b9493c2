"""Compiled acceptors, kept from one start to the next: compiling takes seconds, reading a tenth.

What is kept is named by a digest of the phrases and of the code that compiles them, and holds a
digest of itself: what is of another grammar is never found, and what is damaged is compiled anew.
Nothing depends on it being there.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import platformdirs

import voice
from voice.meaning.acceptor import Acceptor, Arc

if TYPE_CHECKING:
    from voice.meaning.grammar import Grammar
    from voice.meaning.listening import Listening

MOST = 12
"""How many are kept: those of the last grammars."""


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
        return _read(file.read_bytes())
    compiled = grammar.acceptor(state)
    with suppress(OSError):
        _write(file, compiled)
    return compiled


@cache
def _code() -> str:
    """A digest of the code between phrase files and acceptors."""
    root = Path(voice.__file__).parent
    files = sorted(f for part in ("entries", "meaning") for f in (root / part).rglob("*.py"))
    return hashlib.sha256(b"\0".join(f.read_bytes() for f in files)).hexdigest()


def _write(file: Path, compiled: Acceptor) -> None:
    """Keep it whole or not at all; the oldest go."""
    file.parent.mkdir(parents=True, exist_ok=True)
    words = sorted(compiled.words())
    numbers = {word: n for n, word in enumerate(words)}
    body = json.dumps(
        {
            "words": words,
            "arcs": [[(numbers[a.word], a.target, a.cost) for a in arcs] for arcs in compiled.arcs],
            "finals": list(compiled.finals.items()),
        },
        separators=(",", ":"),
    ).encode()
    with tempfile.NamedTemporaryFile(dir=file.parent, suffix=".new", delete=False) as new:
        new.write(hashlib.sha256(body).hexdigest().encode() + b"\n" + body)
    Path(new.name).replace(file)
    kept = sorted(file.parent.glob("*.json"), key=lambda f: f.stat().st_mtime, reverse=True)
    for old in kept[MOST:]:
        old.unlink()


def _read(raw: bytes) -> Acceptor:
    """What `_write` kept; raises ValueError where it is damaged."""
    digest, _, body = raw.partition(b"\n")
    if hashlib.sha256(body).hexdigest().encode() != digest:
        raise ValueError("damaged")
    told = json.loads(body)
    words = told["words"]
    return Acceptor(
        arcs=tuple(tuple(Arc(words[w], t, c) for w, t, c in arcs) for arcs in told["arcs"]),
        finals=dict(told["finals"]),
    )
