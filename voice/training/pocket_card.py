"""The pocket card: one page of phrases, drawn from the grammar.

    python -m voice.training.pocket_card > docs/pocket-card.md

Which phrases stand on it is written in ``grammar/card/card.toml``; how each is read back is asked of
the grammar, so the card cannot promise what is not heard.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from pydantic import Field

from voice.entries.errors import LegbookError
from voice.entries.frozen import Frozen
from voice.entries.leg import LegSettings
from voice.meaning.grammar import GRAMMAR_FOLDER, load_grammar
from voice.meaning.table import shaped, toml

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from voice.meaning.grammar import Grammar

CARD = GRAMMAR_FOLDER / "card" / "card.toml"
"""Which phrases are on the card."""

_HEAD = """\
# Pocket card

Drawn from the grammar; do not edit. To draw it again:
`python -m voice.training.pocket_card > docs/pocket-card.md`. To print it, open it in a browser.

**Say it, hear it read back, say “confirm”.** One entry, then a breath. Numbers as words, or digit by
digit where it matters: “one five”. Silence never confirms. *legbook records and reminds; it never
orders care.*"""
_FOOT = """\
Rising tone: go on. One high tone: kept. Falling tone: say it again. Three tones: trouble, listen."""


class CardError(LegbookError):
    """A card that cannot be drawn; the sentence says which phrase of it is at fault."""


class Part(Frozen):
    """A part of the card."""

    title: str
    say: tuple[str, ...] = ()
    """Phrases that are read back."""
    does: dict[str, str] = Field(default_factory=dict)
    """Phrases that are not, each with what it does."""


class _Card(Frozen):
    part: tuple[Part, ...]


def load_card(path: Path = CARD) -> tuple[Part, ...]:
    """The parts of the card; raises ``GrammarError`` where the file is no card."""
    return shaped(_Card, toml(path.read_bytes(), path.name), path.name).part


def card(parts: tuple[Part, ...], grammar: Grammar) -> str:
    """The card as Markdown; raises ``CardError`` where a phrase of it is not in the grammar."""
    return "\n".join((_HEAD, "", "| say | |", "|---|---|", *_rows(parts, grammar), "", _FOOT))


def _rows(parts: tuple[Part, ...], grammar: Grammar) -> Iterator[str]:
    for part in parts:
        yield f"| **{part.title}** | |"
        for text in part.say:
            yield f"| {text} | “{_read_back(text, grammar)}” |"
        for text, does in part.does.items():
            _read_back(text, grammar)
            yield f"| {text} | {does} |"


def _read_back(text: str, grammar: Grammar) -> str:
    settings = LegSettings()
    meanings = grammar.parse(text, settings)
    if len(meanings) != 1:
        raise CardError(f'"{text}" is no phrase of the grammar: take another for the card.')
    return grammar.read_back(meanings[0], settings)


if __name__ == "__main__":
    sys.stdout.write(f"{card(load_card(), load_grammar())}\n")
