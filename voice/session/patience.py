"""How long a pause ends what was said.

A half of a phrase may be another legal phrase, so what may go on is waited for; what is whole is
answered at once. What makes no sense is most likely half of something, and is waited for longest.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.hearing.segmenter import AROUND_S, HANGOVER_S
from voice.meaning.decide import is_unknown
from voice.meaning.decision import Accept, NotUnderstood

if TYPE_CHECKING:
    from voice.entries.heard import Hearing
    from voice.meaning.decision import Decision
    from voice.meaning.grammar import Grammar
    from voice.meaning.listening import Listening

WHOLE_S = AROUND_S
"""Silence that ends a phrase that cannot go on, as "confirm": none that is looked for before."""
UNFINISHED_S = 0.7
"""Silence that ends what was not understood: slow speakers' halves mostly are not (docs/bench.md)."""


def patience_s(
    hearing: Hearing, decision: Decision, grammar: Grammar, listening: Listening
) -> float:
    """How much silence, in s, ends what was heard as ``hearing`` and decided on so.

    Only what is taken is over early, and only if all that it may have been is whole.
    """
    if isinstance(decision, NotUnderstood):
        return UNFINISHED_S
    texts = [one.text for one in hearing.alternatives if not is_unknown(one)]
    if isinstance(decision, Accept) and all(grammar.is_whole(t, listening) for t in texts):
        return WHOLE_S
    return HANGOVER_S
