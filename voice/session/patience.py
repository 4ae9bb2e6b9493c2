"""How long a pause ends what was said.

A half of a phrase may be another legal phrase, so what may go on is waited for. Words of the talk that
cannot go on, as "confirm", are answered at once. What makes no sense is most likely half of something, and
is waited for longest.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.said import Command
from voice.hearing.segmenter import AROUND_S, HANGOVER_S
from voice.meaning.decide import is_unknown
from voice.meaning.decision import Accept, Heard, NotUnderstood

if TYPE_CHECKING:
    from voice.entries.heard import Hearing
    from voice.meaning.decision import Decision
    from voice.meaning.grammar import Grammar
    from voice.meaning.listening import Listening

WHOLE_S = AROUND_S
"""Silence that ends a word of the talk that cannot go on: nothing is heard sooner."""
UNFINISHED_S = 0.7
"""Silence that ends what was not understood: slow speakers' halves mostly are not (docs/bench.md)."""


def patience_s(
    hearing: Hearing, decision: Decision, grammar: Grammar, listening: Listening
) -> float:
    """How much silence, in s, ends what was heard as ``hearing`` and decided on so.

    An entry is never over early, though its time may have been said and nothing can follow: the
    recogniser, which knows whole phrases only, hears their last word where it has not been said
    yet (docs/bench.md).
    """
    match decision:
        case NotUnderstood():
            return UNFINISHED_S
        case Accept(heard=Heard(meaning=Command())):
            texts = [one.text for one in hearing.alternatives if not is_unknown(one)]
            if all(grammar.is_whole(text, listening) for text in texts):
                return WHOLE_S
    return HANGOVER_S
