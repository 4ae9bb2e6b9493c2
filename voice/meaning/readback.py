"""What is spoken back: an entry, a whole meaning, or the question between two."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.said import ConfirmAnd, Several
from voice.meaning.grammar import Grammar, load_grammar

if TYPE_CHECKING:
    from voice.entries.kinds import Entry
    from voice.entries.leg import LegSettings
    from voice.entries.said import Meaning


def read_back(
    said: Meaning | Entry,
    settings: LegSettings,
    grammar: Grammar | None = None,
    *,
    long: bool = False,
) -> str:
    """``said`` as it is spoken back, the value last and digit by digit: "pressure, one four".

    ``long`` is "intracranial pressure, one four millimetres". Without ``grammar``, by the shipped one. Raises GrammarError where it has no words for ``said``.
    """
    return (grammar or load_grammar()).read_back(said, settings, long=long)


def ask_between(
    first: Meaning, second: Meaning, settings: LegSettings, grammar: Grammar | None = None
) -> str:
    """The question between two readings: "pressure: one five, or five zero?".

    What both begin with is said once; where nothing is common, both are said in full. Of several
    entries in one breath only what differs is asked about.
    """
    if isinstance(first, ConfirmAnd) and isinstance(second, ConfirmAnd):
        first, second = first.then, second.then
    first, second = _differing(first, second)
    one = read_back(first, settings, grammar).split(", ")
    two = read_back(second, settings, grammar).split(", ")
    common: list[str] = []
    several = isinstance(first, Several) or isinstance(second, Several)
    while one[:1] == two[:1] and len(one) > 1 and len(two) > 1 and not several:
        common.append(one.pop(0))
        two.pop(0)
    name = f"{', '.join(common)}: " if common else ""
    return f"{name}{', '.join(one)}, or {', '.join(two)}?"


def _differing(first: Meaning, second: Meaning) -> tuple[Meaning, Meaning]:
    """The two entries that differ, where all others of the breath are the same."""
    if isinstance(first, Several) and isinstance(second, Several):
        differ = [
            pair
            for pair in zip(first.statements, second.statements, strict=False)
            if pair[0] != pair[1]
        ]
        if len(differ) == 1 and len(first.statements) == len(second.statements):
            return differ[0]
    return first, second
