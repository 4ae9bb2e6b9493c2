"""A grammar and a recogniser that lacks some of its words: what can still be said, and what not.

A recogniser can only hear words that it knows. Phrases that need another word are left out of its
acceptor, and every one of them is listed: what is left out is heard as something else, or not at
all, and the nurse has to know that before the leg. Read-backs are not touched.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from voice.entries.said import Talk
from voice.meaning.acceptor import Acceptor, Arc
from voice.meaning.expression import Either, Marked, Row, Slot, Word
from voice.meaning.listening import Listening
from voice.meaning.numbers import spoken_forms

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from voice.meaning.expression import Expression, Value
    from voice.meaning.grammar import Grammar
    from voice.meaning.phrase import Phrase

_Wording = tuple[str, ...]

NEEDED_NUMBERS = tuple(dict.fromkeys(form for n in range(100) for form in spoken_forms(n, "words")))
"""Every number below a hundred in words: where one twin is missing, it would be heard as the other."""
NEEDED_ENTRIES = ("pressure", "drain_level", "drained", "drain_clamped", "drain_opened")
"""What a leg cannot be kept without."""
_HELPFUL_TALK = {
    Talk.READ_UNCONFIRMED, Talk.NEXT_PART, Talk.STOP_READING, Talk.YES, Talk.SKIP, Talk.STOP_CHECK,
    Talk.REMINDER_NOTED, Talk.REMIND_LATER,
}  # fmt: skip
NEEDED_TALK = tuple(talk for talk in Talk if talk not in _HELPFUL_TALK)
"""The words without which a leg cannot be kept; it can be without checks, long answers
and answers to reminders."""
_SPARED = frozenset({"nought"})
"""Words of NEEDED_NUMBERS that have another form."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A phrase of the grammar that loses wordings or values, or all of them."""

    phrase: Phrase
    words: tuple[str, ...]
    """The words that are lacking."""
    values: tuple[Value, ...]
    """Values that can be said in no way any more; none where the phrase is lost as a whole."""
    instead: str | None
    """What can be said instead; ``None`` where there is nothing that makes such an entry."""


def spellings_for(grammar: Grammar, known: Collection[str]) -> dict[str, str]:
    """The grammar's words that can be heard by who knows ``known``, and how each is spelled there.

    A word that is not known is heard by another spelling that is: "color" by "colour".
    """
    words = set().union(*(words_of(grammar.expression(state)) for state in Listening))
    spelled = {word: word for word in words if word in known}
    for other, word in grammar.spellings.items():
        if other in known and word in words:
            spelled.setdefault(word, other)
    return spelled


def narrowed(acceptor: Acceptor, spelled: Mapping[str, str]) -> Acceptor:
    """The phrases of ``acceptor`` that need no word beyond ``spelled``, in its spelling.

    Deterministic like ``acceptor``, but perhaps no longer minimal.
    """
    lives: dict[int, bool] = {}

    def alive(state: int) -> bool:
        if state not in lives:
            ways = [alive(arc.target) for arc in acceptor.arcs[state] if arc.word in spelled]
            lives[state] = state in acceptor.finals or any(ways)
        return lives[state]

    numbers = {0: 0}
    order = [0]
    rows: list[tuple[Arc, ...]] = []
    for state in order:
        arcs = [a for a in acceptor.arcs[state] if a.word in spelled and alive(a.target)]
        for arc in arcs:
            if arc.target not in numbers:
                numbers[arc.target] = len(order)
                order.append(arc.target)
        row = [Arc(spelled[arc.word], numbers[arc.target], arc.cost) for arc in arcs]
        rows.append(tuple(sorted(row, key=lambda arc: arc.word)))
    finals = {numbers[s]: cost for s, cost in acceptor.finals.items() if s in numbers}
    return Acceptor(tuple(rows), finals)


def left_out(grammar: Grammar, known: Collection[str]) -> tuple[LeftOut, ...]:
    """Every phrase that loses something where only the words ``known`` can be heard."""
    found = []
    for phrase in grammar.phrases:
        words = tuple(sorted(words_of(phrase.expression) - set(known)))
        if words and not phrase.misgiven:
            values: tuple[Value, ...] = ()
            if _first_wording(phrase.expression, known) is not None:
                values = tuple(
                    value
                    for slot in phrase.slots.values()
                    for value in sorted(set(slot.forms.values()) - _sayable(slot, known), key=str)
                )
            found.append(LeftOut(phrase, words, values, _instead(grammar, phrase, known)))
    return tuple(found)


def missing_needed(grammar: Grammar, known: Collection[str]) -> tuple[str, ...]:
    """What a leg needs and nobody can say in the words ``known``: words, or kinds of entry."""
    words = {word for form in NEEDED_NUMBERS for word in form.split()} - _SPARED
    missing = sorted(words - set(known))
    for talk in NEEDED_TALK:
        phrases = [p for p in grammar.phrases if p.talk is talk]
        if phrases and not any(_first_wording(p.expression, known) for p in phrases):
            missing.append(talk.value)
    for kind in NEEDED_ENTRIES:
        phrases = [p for p in grammar.phrases if p.entry == kind]
        if not any(_first_wording(p.expression, known) for p in phrases):
            missing.append(kind.replace("_", " "))
    return tuple(dict.fromkeys(missing))


def _instead(grammar: Grammar, lost: Phrase, known: Collection[str]) -> str | None:
    """The first wording that is left of the phrase or of another that makes the same."""

    def makes(phrase: Phrase) -> tuple[object, ...]:
        fixed = frozenset(phrase.fixed.items())
        return (
            phrase.entry, phrase.time, phrase.talk, phrase.question, phrase.choice,
            phrase.correction, phrase.lead_in, fixed,
        )  # fmt: skip

    others = [p for p in grammar.phrases if p is not lost and makes(p) == makes(lost)]
    for phrase in (lost, *others):
        wording = _first_wording(phrase.expression, known)
        if wording is not None:
            return " ".join(wording)
    return None


def words_of(node: Expression) -> set[str]:
    """Every word of ``node``."""
    match node:
        case Word(text):
            return {text}
        case Row(parts) | Either(parts):
            return {word for part in parts for word in words_of(part)}
        case Slot():
            return set(node.words)
        case Marked(part):
            return words_of(part)


def _first_wording(node: Expression, known: Collection[str]) -> _Wording | None:
    """The first wording in the words ``known``; a slot stands as its name in < >."""
    match node:
        case Word(text):
            return (text,) if text in known else None
        case Row(parts):
            wordings = [_first_wording(part, known) for part in parts]
            if None in wordings:
                return None
            return tuple(word for wording in wordings if wording for word in wording)
        case Either(parts):
            return next(_living(parts, known), None)
        case Slot(field, _):
            return (f"<{field}>",) if _sayable(node, known) else None
        case Marked(part):
            return _first_wording(part, known)


def _living(parts: tuple[Expression, ...], known: Collection[str]) -> Iterator[_Wording]:
    for part in parts:
        wording = _first_wording(part, known)
        if wording is not None:
            yield wording


def _sayable(slot: Slot, known: Collection[str]) -> set[Value]:
    return {value for form, value in slot.forms.items() if all(word in known for word in form)}
