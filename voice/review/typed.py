"""What a reviewer types, to an entry: by the strict parser and the ranges of what is spoken.

Figures and written units are put into words first: "ICP 14 mmHg" is "intracranial pressure fourteen
millimetres of mercury". For an entry that is corrected its numbers alone are enough ("14", "120/80").
Both end as a phrase of the grammar that means one thing, or as a sentence on why not.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from pydantic import ValidationError
from rapidfuzz import fuzz, process

from voice.entries.errors import LegbookError
from voice.entries.said import Correction, Several, Statement
from voice.meaning.grammar import GrammarError
from voice.meaning.numbers import digit_words, spoken_forms

if TYPE_CHECKING:
    from collections.abc import Sequence

    from voice.entries.kinds import Entry
    from voice.entries.leg import LegSettings
    from voice.meaning.grammar import Grammar
    from voice.meaning.numbers import Number

LONGEST = 200
"""Letters of what may be typed for an entry."""
_NEAREST = 3

IN_WORDS = {
    "mmhg": "millimetres of mercury",
    "cmh2o": "centimetres of water",
    "ml": "mils",
    "mg": "milligrams",
    "mcg": "micrograms",
    "µg": "micrograms",
    "g": "grams",
    "%": "percent",
    "/h": "an hour",
    "/min": "a minute",
    "icp": "intracranial pressure",
    "hr": "heart rate",
    "bp": "blood pressure",
    "map": "mean pressure",
    "/": "over",
}
"""How what is written short is spoken."""

_TOKEN = re.compile(
    r"\s*(?:"
    r"(?P<clock>[0-9]{1,2}:[0-9]{2}(?![0-9]))"
    r"|(?P<short>mmhg\b|cmh2o\b|µg\b|%|/h\b|/min\b|/)"
    r"|(?P<number>(?:(?<!\S)-)?[0-9]{1,6}(?:\.[0-9]{1,3})?(?![.,]?[0-9]))"
    r"|(?P<word>[a-z']+)"
    r"|(?P<stop>[,;.!?](?![0-9]))"
    r")",
    re.IGNORECASE,
)
_NUMBER = r"-?[0-9]{1,6}(?:\.[0-9]{1,3})?"
_NUMBERS = re.compile(rf"{_NUMBER}(?:\s*[/ ]\s*{_NUMBER})*")


class TypedError(LegbookError):
    """What was typed is no entry."""

    def __init__(self, sentence: str, nearest: Sequence[str] = ()) -> None:
        super().__init__(sentence)
        self.nearest = tuple(nearest)
        """Phrases that may have been meant."""


def typed(
    text: str, grammar: Grammar, settings: LegSettings, corrects: Entry | None = None
) -> tuple[Statement, str]:
    """What ``text`` states, and the words by which the grammar took it.

    ``corrects`` is the entry in whose place it comes: then its numbers alone are enough.

    Raises:
        TypedError: where it is no phrase for an entry, more than one entry, or out of range.
    """
    text = text.strip()
    if not text or len(text) > LONGEST:
        raise TypedError(f"Type an entry, in at most {LONGEST} letters.")
    if corrects is not None and _NUMBERS.fullmatch(text):
        return _with_numbers(corrects, _numbers(text), grammar, settings)
    words = in_words(text)
    return _one_statement(words, grammar, settings), words


def in_words(text: str) -> str:
    """``text`` as it is spoken: "bp 120/80" is "blood pressure one hundred twenty over eighty".

    Raises ``TypedError`` where a sign in it has no words: nothing is passed over.
    """
    words: list[str] = []
    at = 0
    text = text.strip()
    while at < len(text):
        token = _TOKEN.match(text, at)
        if token is None:
            raise TypedError(
                f'"{text[at:].split()[0]}" cannot be read. Write figures like 14, 7.35 or 120/80, '
                "times like 14:05, and words."
            )
        words += _spoken(token)
        at = token.end()
    return " ".join(words)


def _spoken(token: re.Match[str]) -> list[str]:
    if token["clock"]:
        hour, minute = map(int, token["clock"].split(":"))
        if hour > 23 or minute > 59:
            raise TypedError(f"{token['clock']} is no time of day.")
        return [spoken_forms(hour, "hour")[0], spoken_forms(minute, "minute")[0]]
    if token["number"]:
        return [spoken_forms(_number(token["number"]), "words")[0]]
    if token["stop"]:
        return []
    word = (token["short"] or token["word"]).lower()
    return [IN_WORDS.get(word, word)]


def _number(text: str) -> Number:
    return float(text) if "." in text else int(text)


def _numbers(text: str) -> list[Number]:
    return [_number(one) for one in re.split(r"[/\s]+", text) if one]


def _one_statement(words: str, grammar: Grammar, settings: LegSettings) -> Statement:
    meanings = grammar.parse(words, settings)
    if any(isinstance(meaning, Several) for meaning in meanings):
        raise TypedError("That is more than one entry. Put them down one after the other.")
    found = [
        meaning.statement if isinstance(meaning, Correction) else meaning
        for meaning in meanings
        if isinstance(meaning, Correction | Statement)
    ]
    if len(set(found)) > 1:
        raise TypedError("That can mean more than one thing. Say it with its unit, or in full.")
    if found:
        if sentence := grammar.refusal(found[0].entry, settings):
            raise TypedError(f"{sentence[0].upper()}{sentence[1:]}.")
        return found[0]
    if meanings:
        raise TypedError("Those are words to the program, and no entry.")
    raise TypedError(
        f'"{words}" is no phrase for an entry, or its value is out of range.',
        nearest(words, grammar),
    )


def nearest(words: str, grammar: Grammar) -> tuple[str, ...]:
    """Examples of the grammar that look most like ``words``, each an entry."""
    texts = [example.text for example in grammar.examples if isinstance(example.meaning, Statement)]
    found = process.extract(words, texts, scorer=fuzz.token_sort_ratio, limit=_NEAREST)
    return tuple(text for text, _, _ in found)


def _with_numbers(
    entry: Entry, numbers: list[Number], grammar: Grammar, settings: LegSettings
) -> tuple[Statement, str]:
    """The entry with other numbers, if the grammar can say it so."""
    names = [
        name
        for name, told in entry.model_dump().items()
        if isinstance(told, int | float) and not isinstance(told, bool)
    ]
    if len(names) != len(numbers):
        held = "no number" if not names else f"{len(names)} number{'s' if len(names) > 1 else ''}"
        raise TypedError(f"The entry holds {held}. Type it as a whole phrase.")
    fields = entry.model_dump() | dict(zip(names, numbers, strict=True))
    try:
        changed = type(entry).model_validate(fields)
        read = grammar.read_back(changed, settings).replace(",", "")
    except (ValidationError, GrammarError):
        pass
    else:
        for words in (_in_full(read, numbers), read):
            meanings = grammar.parse(words, settings)
            if changed in {m.entry for m in meanings if isinstance(m, Statement)}:
                return Statement(entry=changed), words
    told = f"{'/'.join(map(str, numbers))} is out of range for such an entry"
    takes = _values(entry, names[0], grammar) if len(names) == 1 else []
    if not takes:
        raise TypedError(f"{told}.")
    near = min(takes, key=lambda value: abs(value - numbers[0]))
    raise TypedError(
        f"{told}: it takes {min(takes):g} to {max(takes):g}; the nearest to {numbers[0]} is {near:g}."
    )


def _values(entry: Entry, name: str, grammar: Grammar) -> list[float]:
    """The numbers that can be said for ``name`` of such an entry."""
    rest = entry.model_dump(exclude={"kind", name})
    return [
        float(value)
        for phrase in grammar.phrases
        if phrase.entry == entry.kind and name in phrase.slots
        if all(rest.get(other) == fixed for other, fixed in phrase.fixed.items())
        for value in phrase.slots[name].spoken
    ]


def _in_full(words: str, numbers: list[Number]) -> str:
    """A read-back with its numbers as they are spoken: "pressure four zero" is "pressure forty"."""
    for number in numbers:
        words = words.replace(digit_words(number), spoken_forms(number, "words")[0], 1)
    return words
