"""The hash chain: each row's hash covers its event and the hash before it.

Whoever changes, removes, adds or reorders rows has to change every later hash too, and the copies
of them that lie outside the database: in the head file, in a sealed leg, on paper.
"""

from __future__ import annotations

from hashlib import sha256
from typing import NamedTuple

BEFORE_FIRST = "0" * 64
"""Stands for the hash before the first row."""


class Row(NamedTuple):
    """One event as it lies in the journal."""

    number: int
    """Counted from 1 through all files of the leg."""
    previous: str
    text: str
    """The event as canonical JSON."""
    hash: str


class Head(NamedTuple):
    """Where the chain stands: the number and the hash of its last row."""

    number: int
    hash: str


START = Head(0, BEFORE_FIRST)
"""The head of a chain that holds nothing."""


def link(previous: str, text: str) -> str:
    """SHA-256, in hexadecimal, over the previous hash, a line feed and the event's text."""
    return sha256(f"{previous}\n{text}".encode()).hexdigest()


def next_row(head: Head, text: str) -> Row:
    """The row that follows on ``head``."""
    return Row(head.number + 1, head.hash, text, link(head.hash, text))
