"""A lexicon as a file: a word and its phones on a line, a line for each pronunciation."""

from __future__ import annotations

from itertools import chain, product
from typing import TYPE_CHECKING

from voice.acoustics.topology import PHONES
from voice.entries.errors import LegbookError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

Pronunciation = tuple[str, ...]
Lexicon = dict[str, tuple[Pronunciation, ...]]
"""A word's pronunciations, the commonest first."""


class LexiconError(LegbookError):
    """A word has no pronunciation, or one that uses an unknown phone."""


def checked(word: str, phones: list[str], source: str) -> Pronunciation:
    """``phones`` as a pronunciation; raises ``LexiconError`` where one is none of the 39."""
    unknown = sorted(set(phones) - set(PHONES))
    if unknown or not phones:
        raise LexiconError(
            f"The pronunciation of '{word}' in {source} uses {', '.join(unknown) or 'no phone at all'}. "
            f"Write it with these phones only: {' '.join(PHONES)}."
        )
    return tuple(phones)


def read_lexicon(path: Path) -> Lexicon:
    """Read a lexicon as `format_lexicon` writes it; raises ``LexiconError``."""
    lexicon: Lexicon = {}
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise LexiconError(
            f"{path.name} is not text in UTF-8, or is damaged: nothing is read of it."
        ) from None
    for line in text.splitlines():
        word, *phones = line.split() or ("",)
        if word:
            lexicon[word] = (*lexicon.get(word, ()), checked(word, phones, path.name))
    return lexicon


def ways_of(words: Sequence[str], lexicon: Lexicon) -> list[Pronunciation]:
    """How ``words`` are said one after another, the commonest first; none where one of them is unknown."""
    ways = product(*(lexicon.get(word, ()) for word in words))
    return [tuple(chain.from_iterable(way)) for way in ways]


def format_lexicon(lexicon: Lexicon) -> str:
    """A line for each pronunciation: the word, then its phones."""
    lines = [f"{word} {' '.join(phones)}" for word, spoken in lexicon.items() for phones in spoken]
    return "\n".join(lines) + "\n"
