"""Acceptors walked by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from voice.meaning.acceptor import Acceptor


def accepts(acceptor: Acceptor, text: str) -> bool:
    """Whether a path of the acceptor spells ``text``, followed word by word."""
    state = 0
    for word in text.split():
        targets = [arc.target for arc in acceptor.arcs[state] if arc.word == word]
        if not targets:
            return False
        (state,) = targets
    return state in acceptor.finals
