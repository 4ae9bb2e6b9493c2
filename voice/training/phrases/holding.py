"""What would no longer hold on this machine if phrases or words were taken away or replaced."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.acoustics.lexicon_file import read_lexicon
from voice.acoustics.shipped import LEXICON_FILE
from voice.meaning.grammar import GRAMMAR_FOLDER, read_grammar
from voice.meaning.narrowing import words_of
from voice.training.phrases.checker import check_lists

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence
    from pathlib import Path

    from voice.session.own_phrases import Layer


def faults_of(files: Sequence[Path], words: Collection[str], there: Sequence[Layer]) -> set[str]:
    """Why no leg could begin with these phrase files, taught words, and lists of ``there``: sentences."""
    grammar = read_grammar(files, lambda _: None)
    shipped = {file.name for file in GRAMMAR_FOLDER.glob("*.toml")}
    known = read_lexicon(LEXICON_FILE).keys() | set(words)
    told = set()
    for phrase in grammar.phrases:
        for word in words_of(phrase.expression) - known:
            place = "a list of drugs" if phrase.file in shipped else phrase.file
            told.add(f'"{word}" is said in {place}, and would be known no more.')
    return told | {str(fault) for fault in check_lists(files, there)}
