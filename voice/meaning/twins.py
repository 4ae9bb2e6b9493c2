"""Twins: values that every recogniser confuses, and of which one must not pass for the other.

Thirteen and thirty, fourteen and forty … nineteen and ninety differ in one unstressed syllable;
mixing them up is a factor of three in a pressure or a dose. "Four unreactive" and "four and reactive"
differ in less, and a pupil that no longer reacts is an emergency.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.said import ClockTime, ConfirmAnd, Correction, Several, Statement
from voice.meaning.numbers import plain, spoken_forms

if TYPE_CHECKING:
    from voice.entries.said import Meaning
    from voice.meaning.numbers import Number

TEN_FOR_TEEN = {
    "thirteen": "thirty", "fourteen": "forty", "fifteen": "fifty", "sixteen": "sixty",
    "seventeen": "seventy", "eighteen": "eighty", "nineteen": "ninety",
}  # fmt: skip


def twins(one: Number, other: Number) -> bool:
    """Whether the two are the same but for teens in the place of tens.

    13 and 30 are, and so are 113 and 130, 13.5 and 30.5, -15 and -50; 13 and 31 are not.
    """
    return _has_twin(one, other) or _has_twin(other, one)


def _has_twin(teen: Number, ten: Number) -> bool:
    forms = set(spoken_forms(plain(ten)))
    return any(
        form != (swapped := " ".join(TEN_FOR_TEEN.get(w, w) for w in form.split()))
        and swapped in forms
        for form in spoken_forms(plain(teen))
    )


def same_kind(one: Meaning, other: Meaning) -> bool:
    """Whether both are entries of the same kinds, or corrections to one; the values may differ."""
    if isinstance(one, Correction) and isinstance(other, Correction):
        return same_kind(one.statement, other.statement)
    if isinstance(one, ConfirmAnd) and isinstance(other, ConfirmAnd):
        return same_kind(one.then, other.then)
    if isinstance(one, Several) and isinstance(other, Several):
        kinds = [[s.entry.kind for s in several.statements] for several in (one, other)]
        return kinds[0] == kinds[1]
    return (
        isinstance(one, Statement)
        and isinstance(other, Statement)
        and one.entry.kind == other.entry.kind
    )


def twin_meanings(one: Meaning, other: Meaning) -> bool:
    """Whether the two say the same but for numbers that are `twins`, or for values told in words.

    Whatever stands in one list of alternatives sounds alike, and one drug for another, a fixed pupil
    for a reactive one or "loaded" for "unloaded" is as bad as a fifteen for a fifty. The unit may
    differ along with them: where it was not said, the number decides over it. The unit of a drug is
    always said, and milligrams for micrograms are a thousandfold: there it makes twins alone.
    """
    if one == other or not same_kind(one, other):
        return False
    if isinstance(one, ConfirmAnd) and isinstance(other, ConfirmAnd):
        return twin_meanings(one.then, other.then)
    if isinstance(one, Several) and isinstance(other, Several):
        pairs = zip(one.statements, other.statements, strict=True)
        return all(a == b or twin_meanings(a, b) for a, b in pairs)
    ones, others = _values(one), _values(other)
    differing = {name for name in ones.keys() & others.keys() if ones[name] != others[name]}
    if differing == {"unit"}:
        return "drug" in ones
    telling = differing - {"unit"}
    return (
        ones.keys() == others.keys()
        and bool(telling)
        and all(_twin_values(ones[name], others[name]) for name in telling)
    )


def time_or_entry(one: Meaning, other: Meaning) -> bool:
    """Whether one is an entry at a time of day, and the other the same entry beside one more.

    "At ten seventeen" and "peep seventeen" differ in a vowel: in "at ten seventeen c s f is clear" a time may be
    heard as an entry, or an entry as a time.
    """
    if isinstance(one, ConfirmAnd) and isinstance(other, ConfirmAnd):
        return time_or_entry(one.then, other.then)
    if isinstance(one, Several):
        one, other = other, one
    return (
        isinstance(one, Statement)
        and isinstance(one.when, ClockTime)
        and isinstance(other, Several)
        and len(other.statements) == 2
        and any(statement.entry == one.entry for statement in other.statements)
    )


def twin_words(one: str, other: str) -> bool:
    """Whether the two are the same words but for teens in the place of tens."""
    ones, others = one.split(), other.split()
    return (
        one != other
        and len(ones) == len(others)
        and all(
            a == b or TEN_FOR_TEEN.get(a) == b or TEN_FOR_TEEN.get(b) == a
            for a, b in zip(ones, others, strict=True)
        )
    )


def _twin_values(one: object, other: object) -> bool:
    if isinstance(one, str | bool) and isinstance(other, str | bool):
        return True
    return isinstance(one, int | float) and isinstance(other, int | float) and twins(one, other)


def _values(meaning: Meaning) -> dict[str, object]:
    """The fields of an entry and of its time."""
    statement = meaning.statement if isinstance(meaning, Correction) else meaning
    assert isinstance(statement, Statement)
    when = statement.when.model_dump() if statement.when is not None else {}
    return statement.entry.model_dump() | when
