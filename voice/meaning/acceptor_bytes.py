"""An acceptor as bytes, with a digest of itself: for a file, or for another process."""

from __future__ import annotations

import hashlib
import json

from voice.meaning.acceptor import Acceptor, Arc


def as_bytes(acceptor: Acceptor) -> bytes:
    """``acceptor``, to be read by ``from_bytes``."""
    words = sorted(acceptor.words())
    numbers = {word: n for n, word in enumerate(words)}
    body = json.dumps(
        {
            "words": words,
            "arcs": [[(numbers[a.word], a.target, a.cost) for a in arcs] for arcs in acceptor.arcs],
            "finals": list(acceptor.finals.items()),
        },
        separators=(",", ":"),
    ).encode()
    return hashlib.sha256(body).hexdigest().encode() + b"\n" + body


def from_bytes(raw: bytes) -> Acceptor:
    """The acceptor that ``as_bytes`` was given; raises ``ValueError`` where ``raw`` is damaged."""
    digest, _, body = raw.partition(b"\n")
    if hashlib.sha256(body).hexdigest().encode() != digest:
        raise ValueError("damaged")
    told = json.loads(body)
    words = told["words"]
    return Acceptor(
        arcs=tuple(tuple(Arc(words[w], t, c) for w, t, c in arcs) for arcs in told["arcs"]),
        finals=dict(told["finals"]),
    )
