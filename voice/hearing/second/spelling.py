"""Words to Whisper's tokens: byte-pair encoding, as GPT-2 has it.

Source: Sennrich, Haddow and Birch, "Neural Machine Translation of Rare Words with Subword Units", ACL 2016.
"""

from __future__ import annotations

import json
import re
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

END = 50256
START = 50257
NO_TIMES = 50362
"""Asks for words without their times."""
_SPACE = "\N{LATIN CAPITAL LETTER G WITH DOT ABOVE}"
"""How the list of tokens writes a space."""
_FIGURES = re.compile("[0-9]{1,4}")


class Spelling:
    """The tokens of English words."""

    def __init__(self, file: Path) -> None:
        """Read the tokens and how they are joined from ``tokenizer.json``."""
        told = json.loads(file.read_text("utf-8"))["model"]
        self._ids: dict[str, int] = told["vocab"]
        self._texts = {number: text for text, number in self._ids.items()}
        self._ranks = {tuple(pair.split(" ")): rank for rank, pair in enumerate(told["merges"])}
        self.tokens = cache(self._tokens)

    def figures(self) -> dict[int, str]:
        """The tokens that are numbers, with what they show."""
        shown = {number: text.removeprefix(_SPACE) for text, number in self._ids.items()}
        return {number: text for number, text in shown.items() if _FIGURES.fullmatch(text)}

    def _tokens(self, text: str) -> tuple[int, ...]:
        """The tokens of a word in ASCII letters, or of a mark; a space before it counts."""
        parts = list(text.replace(" ", _SPACE))
        while len(parts) > 1:
            pairs = list(pairwise(parts))
            first = min(pairs, key=lambda pair: self._ranks.get(pair, len(self._ranks)))
            if first not in self._ranks:
                break
            at = pairs.index(first)
            parts[at : at + 2] = ["".join(first)]
        return tuple(self._ids[part] for part in parts)

    def text(self, tokens: Sequence[int]) -> str:
        """What ``tokens`` spell, without what is no text."""
        letters = "".join(self._texts[token] for token in tokens if token < END)
        return letters.replace(_SPACE, " ").strip()
