"""What is listened for while the program itself speaks: few words, none of them an entry."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.said import Talk
from voice.meaning.attention import called
from voice.meaning.automaton import compile_acceptor
from voice.meaning.expression import Either, Row, Word

if TYPE_CHECKING:
    from voice.meaning.acceptor import Acceptor
    from voice.meaning.grammar import Grammar

INTERRUPTING = frozenset(
    {
        Talk.CONFIRM,
        Talk.NO,
        Talk.SCRATCH_THAT,
        Talk.SAY_AGAIN,
        Talk.STOP_READING,
        Talk.STAND_BY,
    }
)
"""The words of the talk with which the nurse may fall in. The others wait: none of them is in a hurry."""
HUSH = "stop"
"""Only falls in: the program is silent, and nothing else happens."""


def interruptions(grammar: Grammar) -> Acceptor:
    """The phrases of ``INTERRUPTING``, ``HUSH``, and the word that begins a correction.

    Where there is an attention word, it falls in as well, alone and before each of these. Whether what was said
    may go without it is asked when all of it is heard.
    """
    phrases = Either(
        tuple(p.expression for p in grammar.phrases if p.talk in INTERRUPTING or p.correction)
    )
    if grammar.attention is None:
        return compile_acceptor(Either((phrases, Word(HUSH))))
    call = called(grammar.attention)
    return compile_acceptor(Either((phrases, Word(HUSH), call, Row((call, phrases)))))
