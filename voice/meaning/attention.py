"""Guarded listening: what is meant for the program begins with a word that the nurse has chosen.

Around her people speak to each other, to the patient and over the intercom, and some of it is a
whole legal phrase: "drain open" may be a question to a colleague. Behind an attention word it is
for the program, and without it nothing is. Only the answers to what the program itself has just
asked or read back go without, and only while it waits for them. "Confirm" is none of these: what it
settles can no longer be asked about, so nobody else must be able to say it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.said import Talk
from voice.meaning.decide import UNKNOWN_WORD
from voice.meaning.expression import Either, Expression, Row, Word
from voice.meaning.listening import Listening

if TYPE_CHECKING:
    from collections.abc import Mapping

    from voice.meaning.phrase import Phrase

_TO_ANYTHING = frozenset({Talk.NO, Talk.SCRATCH_THAT, Talk.SAY_AGAIN})
ANSWERS: Mapping[Listening, frozenset[Talk]] = {
    Listening.ASLEEP: frozenset(),
    Listening.LISTENING: frozenset(),
    Listening.CONFIRMING: _TO_ANYTHING | {Talk.NEXT_PART, Talk.STOP_READING},
    Listening.CHECKING: _TO_ANYTHING | {Talk.YES, Talk.SKIP, Talk.STOP_CHECK},
    Listening.CHOOSING: _TO_ANYTHING | {Talk.FIRST, Talk.SECOND},
}
"""The words that answer what is open in each state of the talk."""


def is_answer(phrase: Phrase, state: Listening) -> bool:
    """Whether a phrase answers what is open in ``state``, and so needs no attention word.

    A correction does not: it makes an entry, which has to be meant for the program like any other.
    """
    return phrase.talk in ANSWERS[state] or phrase.choice


def guarded(answers: Expression, others: Expression, attention: str) -> Expression:
    """What is legal behind the words ``attention``, or, of ``answers``, without them.

    Before ``others``, other speech stands beside the attention words as their rival, and means
    nothing: a long phrase that is clearly heard would else carry any word in front of it ("nurse, peep
    fourteen"). Not before answers: a breath in front of "no" would be other speech.
    """
    call = called(attention)
    calls = Either((call, Word(UNKNOWN_WORD)))
    return Either((Row((calls, others)), Row((call, answers)), answers))


def called(attention: str) -> Expression:
    """The attention words, as they are said before a phrase."""
    return Row(tuple(Word(word) for word in attention.split()))
