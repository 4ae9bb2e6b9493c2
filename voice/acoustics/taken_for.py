"""Phrases of the grammar that were taken for what a training utterance says, as a file (`mishearing` writes it)."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


@dataclass(frozen=True, slots=True)
class Misheard:
    """A sound of the corpus, and the phrases of the grammar that were heard in it."""

    start: int
    """Samples from the beginning of the corpus's long recording, as `corpus.Corpus.read` gives it."""
    samples: int
    text: str
    """What is said; empty where only a piece of an utterance is meant, or it is no English."""
    talk: bool
    phrases: tuple[str, ...]
    """Likeliest first by the first model, then by the next."""


def read(path: Path) -> list[Misheard]:
    """What `mishearing` wrote."""
    rows = map(json.loads, path.read_text("utf-8").splitlines())
    return [Misheard(**{**row, "phrases": tuple(row["phrases"])}) for row in rows]
