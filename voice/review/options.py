"""The other things that were heard, each as the entry that it would become."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.frozen import Frozen
from voice.entries.said import ConfirmAnd, Correction, Several, Statement
from voice.entries.subject import subject_of
from voice.meaning.decide import UNKNOWN_WORD
from voice.report.wording import entry_text
from voice.review.heard import phrases

if TYPE_CHECKING:
    from voice.entries.kinds import Entry
    from voice.entries.leg import LegSettings
    from voice.entries.said import Meaning
    from voice.meaning.grammar import Grammar
    from voice.record.events import Heard


class Option(Frozen):
    """One alternative of what was heard."""

    index: int
    text: str
    behind: float | None
    """How far it is behind the likeliest; ``None`` where the second listener alone heard it, whose scores cannot
    be compared."""
    statement: Statement | None
    """What it says of the entry in question; ``None`` where it says nothing of it."""
    written: str | None
    now: bool
    """Whether that is what stands."""
    why_not: str | None
    """Why it cannot be taken, in a whole sentence."""


def options(
    heard: Heard, grammar: Grammar, settings: LegSettings, stands: Entry | None
) -> tuple[Option, ...]:
    """The alternatives, likeliest first, then the entries that only the second listener heard.

    ``stands`` is the entry that they were heard for.
    """
    listed = sorted(heard.alternatives, key=lambda one: -one.score)
    found: list[Option] = []

    def add(text: str, behind: float | None, statement: Statement | None) -> None:
        now = statement is not None and statement.entry == stands
        found.append(
            Option(
                index=len(found),
                text=text,
                behind=behind,
                statement=statement,
                written=None if statement is None else entry_text(statement.entry),
                now=now,
                why_not=_why_not(statement, now=now, known=_is_known(text, grammar)),
            )
        )

    for one in listed:
        statement = _statement(grammar.parse(one.text, settings), stands)
        add(one.text, round(listed[0].score - one.score, 1), statement)
    for one in () if heard.second is None else phrases(heard.second.alternatives):
        statement = _statement(grammar.parse(one.text, settings), stands)
        if statement is not None and all(statement != other.statement for other in found):
            add(one.text, None, statement)
    return tuple(found)


def _is_known(text: str, grammar: Grammar) -> bool:
    """Whether ``text`` is other talk, or a phrase of this machine, be its values impossible."""
    return UNKNOWN_WORD in text.split() or grammar.is_phrase(text)


def _why_not(statement: Statement | None, *, now: bool, known: bool) -> str | None:
    if not known:
        return (
            "No phrase of this machine says that: another attention word stands before it, or it was taught "
            "where the leg was flown. Type what was meant."
        )
    if statement is None:
        return "That says no entry, or more than one: type it."
    return "That is what stands." if now else None


def _statement(meanings: tuple[Meaning, ...], stands: Entry | None) -> Statement | None:
    """What is stated; of several entries in a breath the one about the same thing as ``stands``."""
    found: list[Statement] = []
    for meaning in meanings:
        match meaning:
            case Statement():
                found.append(meaning)
            case Correction(statement=statement) | ConfirmAnd(then=Statement() as statement):
                found.append(statement)
            case (
                Several(statements=statements) | ConfirmAnd(then=Several(statements=statements))
            ) if stands is not None:
                found += [s for s in statements if subject_of(s.entry) == subject_of(stands)]
    return found[0] if len(found) == 1 else None
