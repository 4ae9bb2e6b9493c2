"""Other speech that leads into an entry, as the rival of a "confirm" or an "okay" before it.

A long entry that is clearly heard carries any word in front of it: "come on, pupils four reactive" was heard as
"confirm" and that entry, and led any other speech by far (docs/bench.md).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from voice.entries.heard import Hearing
from voice.entries.said import Talk
from voice.meaning.automaton import compile_acceptor
from voice.meaning.decide import UNKNOWN_WORD, is_unknown
from voice.meaning.expression import Either, Row, Word

if TYPE_CHECKING:
    from voice.meaning.acceptor import Acceptor
    from voice.meaning.grammar import Grammar


ROOM = 2.0
"""By how much other speech may be likelier than a lead-in that was said, as a natural logarithm: of 45 hearings of
"okay" it was likelier in five, by 1.6 at most, and before words that only sound so by 11 and more (docs/bench.md)."""


def led_into(hearing: Hearing, grammar: Grammar) -> Acceptor | None:
    """Other speech in the place of each lead-in, and of each "confirm" with more behind it.

    ``None`` where the likeliest phrase has neither.
    """
    texts = [one.text for one in hearing.alternatives if not is_unknown(one)]
    rivals = [_rival(text, grammar) for text in texts]
    if not rivals or rivals[0] is None:
        return None
    ways = sorted({rival for rival in rivals if rival is not None})
    return compile_acceptor(Either(tuple(Row(tuple(map(Word, words))) for words in ways)))


def with_rival(hearing: Hearing, other: Hearing, grammar: Grammar) -> Hearing:
    """``hearing`` and what was heard in the search for `led_into`, likeliest first.

    Before a "confirm" how far behind that is counts; a lead-in means nothing, so where it was heard
    that does not.
    """
    best = next(one for one in hearing.alternatives if not is_unknown(one))
    begin, end = grammar.lead_in(best.text)
    least = best.score + ROOM if begin < end else -math.inf
    led = (one for one in other.alternatives if one.text != UNKNOWN_WORD and one.score > least)
    return Hearing(tuple(sorted((*hearing.alternatives, *led), key=lambda one: -one.score)))


def _rival(text: str, grammar: Grammar) -> tuple[str, ...] | None:
    words = text.split()
    begin, end = grammar.lead_in(text)
    if begin < end < len(words):
        return (*words[:begin], UNKNOWN_WORD, *words[end:])
    if Talk.CONFIRM in words[:-1]:
        return tuple(UNKNOWN_WORD if w == Talk.CONFIRM else w for w in words)
    return None
