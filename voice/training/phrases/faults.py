"""What can be wrong with phrases, each with its file and line, and what to do about it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping


class Sort(StrEnum):
    """The sorts of fault. The first ones must be mended; `LOOK` lists those that need an eye."""

    NOTATION = "cannot be read"
    UNKNOWN_WORD = "unknown word"
    TWO_MEANINGS = "two meanings"
    EXAMPLE = "example fails"
    NOT_REFUSED = "must be refused"
    NO_EXAMPLE = "no example"
    NO_COUNTER_EXAMPLE = "no counter-example"
    ONE_WORD = "one word"
    SWALLOWS = "swallows a word"
    CONFIRMS = "another confirm"
    SPELLING = "spelling"
    NO_UNIT = "no unit"
    NO_RANGE = "no range"
    READ_BACK = "read-back"
    TOO_LARGE = "too large"
    SOUNDS_ALIKE = "sounds alike"
    BEGINNING = "beginning of another"
    HALF_A_PAIR = "half a pair"


LOOK = frozenset({Sort.HALF_A_PAIR, Sort.BEGINNING, Sort.SOUNDS_ALIKE})
"""What is no fault by itself: a person decides."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault of one phrase file."""

    sort: Sort
    file: str
    line: int | None
    """``None`` where it is of the file as a whole, or of all files together."""
    text: str
    """In a sentence, with what to do."""
    rank: float = 0.0
    """Within its sort, the worst first: what is smaller is worse."""

    @property
    def must_be_mended(self) -> bool:
        """Whether the phrases may not be used with it."""
        return self.sort not in LOOK

    def __str__(self) -> str:
        """As a line of the report."""
        place = f"{self.file}, line {self.line}" if self.line else self.file
        return f"{place}: {self.sort}: {self.text}"


class Lines:
    """In which line of a phrase file something stands."""

    def __init__(self, sources: Mapping[str, str]) -> None:
        self._sources = sources

    def of(self, file: str, text: str) -> int | None:
        """The line of ``file`` in which ``text`` stands in quotes, or else as it is."""
        source = self._sources.get(file, "")
        for wanted in (f'"{text}"', text):
            if (at := source.find(wanted)) >= 0:
                return source[:at].count("\n") + 1
        return None

    def of_key(self, file: str, key: str) -> int | None:
        """The line of ``file`` that begins with ``key`` and a value for it."""
        for number, line in enumerate(self._sources.get(file, "").splitlines(), start=1):
            if re.match(rf'\s*"?{re.escape(key)}"?\s*=', line):
                return number
        return None

    def of_word(self, file: str, word: str) -> int | None:
        """The first line of ``file`` that has the word ``word``, but for comments."""
        for number, line in enumerate(self._sources.get(file, "").splitlines(), start=1):
            if re.search(rf"\b{re.escape(word)}\b", line.split("#")[0]):
                return number
        return None


def told_line(message: str) -> tuple[str, int | None, str]:
    """File, line and the rest of a sentence that a phrase file's reader told."""
    found = re.match(r"(\S+\.toml)(?:, line (\d+))?(?:,|:| is)? ?(.*)", message, re.DOTALL)
    if found is None:
        return "", None, message
    line = found[2] or (m[1] if (m := re.search(r"at line (\d+)", found[3])) else None)
    return found[1], int(line) if line else None, found[3]
