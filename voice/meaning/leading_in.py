"""Other speech that leads into an entry, as the rival of a "confirm" before it.

A long entry that is clearly heard carries any word in front of it: "come on, pupils four reactive" was heard as
"confirm" and that entry, and led any other speech by far (docs/bench.md).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.said import Talk
from voice.meaning.automaton import compile_acceptor
from voice.meaning.decide import UNKNOWN_WORD, is_unknown
from voice.meaning.expression import Either, Row, Word

if TYPE_CHECKING:
    from voice.entries.heard import Hearing
    from voice.meaning.acceptor import Acceptor


def led_into(hearing: Hearing) -> Acceptor | None:
    """Other speech in the place of each "confirm" with more behind it; ``None`` where none is likeliest."""
    texts = [one.text.split() for one in hearing.alternatives if not is_unknown(one)]
    confirming = [words for words in texts if Talk.CONFIRM in words[:-1]]
    if not confirming or texts[0] != confirming[0]:
        return None
    rivals = {
        tuple(UNKNOWN_WORD if w == Talk.CONFIRM else w for w in words) for words in confirming
    }
    return compile_acceptor(Either(tuple(Row(tuple(map(Word, words))) for words in sorted(rivals))))
