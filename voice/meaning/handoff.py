"""What a handoff has to tell, as data: ``grammar/handoff/needs.toml``."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel

from voice.meaning.checklist import Pattern, pattern
from voice.meaning.grammar import GRAMMAR_FOLDER
from voice.meaning.table import shaped, toml

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from voice.entries.kinds import Entry

FILE = GRAMMAR_FOLDER / "handoff" / "needs.toml"
"""The shipped list."""


class _Need(BaseModel, frozen=True, extra="forbid"):
    name: str
    told: list[dict[str, Any]]


class _List(BaseModel, frozen=True, extra="forbid"):
    about: str
    need: list[dict[str, Any]]


@dataclass(frozen=True, slots=True)
class Need:
    """Something that the handoff has to tell."""

    name: str
    """As it is spoken."""
    told_by: tuple[Pattern, ...]
    """Any entry of these tells it."""


def load_needs(*more: Path, shipped: Path = FILE) -> tuple[Need, ...]:
    """The list, in its order; the last file of ``more`` that is there stands in place of the shipped.

    Raises GrammarError, naming the file and the need.
    """
    return _read([shipped, *(file for file in more if file.is_file())][-1])


@lru_cache(maxsize=4)
def _read(path: Path) -> tuple[Need, ...]:
    data = toml(path.read_bytes(), path.name)
    return tuple(_need(written, path.name) for written in shaped(_List, data, path.name).need)


def _need(written: dict[str, Any], file: str) -> Need:
    where = f'{file}, need "{written.get("name", "")}"'
    table = shaped(_Need, written, where)
    return Need(table.name, tuple(pattern(told, where) for told in table.told))


def missing(entries: Iterable[Entry], needs: Iterable[Need]) -> tuple[str, ...]:
    """The names of what none of ``entries`` tells, in the order of a handoff."""
    told = list(entries)
    return tuple(
        need.name
        for need in needs
        if not any(one.fits(entry) for one in need.told_by for entry in told)
    )
