"""The attention word: which words can be one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.errors import LegbookError
from voice.meaning.grammar import normalise
from voice.meaning.narrowing import words_of

if TYPE_CHECKING:
    from voice.meaning.grammar import Grammar
    from voice.session.models import Model

USUAL = "secretary"
"""Three or four syllables, in no phrase and in no talk of a cabin."""


class AttentionWordError(LegbookError):
    """Something that cannot be the attention word."""


def attention_word(chosen: str, grammar: Grammar, model: Model) -> str:
    """``chosen``, one word or several, as the grammar writes it.

    Raises ``AttentionWordError`` where the model does not know it, or where it begins with a word of
    the phrases and so would tell nothing; and what ``Model.opened`` raises.
    """
    word = normalise(chosen)
    if not word:
        raise AttentionWordError(f'"{chosen}" is no word. Choose one that is spoken, as "{USUAL}".')
    known = model.opened.word_ids
    if unknown := [part for part in word.split() if part not in known]:
        raise AttentionWordError(
            f'The model {model.name} cannot hear "{unknown[0]}". Choose another word, as "{USUAL}", '
            "or have the trainer teach it: docs/trainer.md."
        )
    first = word.split()[0]
    if any(first in words_of(phrase.expression) for phrase in grammar.phrases):
        raise AttentionWordError(
            f'"{first}" is a word of the phrases: it would not tell them from other talk. '
            f'Choose another, as "{USUAL}".'
        )
    return word
