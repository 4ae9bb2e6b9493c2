"""Which phrases and values sound alike, and what would go wrong if one were kept for the other."""

from __future__ import annotations

import math
from itertools import combinations, product
from typing import TYPE_CHECKING

from rapidfuzz.distance import Levenshtein

from voice.acoustics.lexicon_file import ways_of
from voice.meaning.expression import slots_of
from voice.training.phrases.faults import Fault, Sort
from voice.training.phrases.frames import Sounds, frames
from voice.training.phrases.phone_distance import distance

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from voice.acoustics.lexicon_file import Lexicon, Pronunciation
    from voice.meaning.expression import Slot
    from voice.meaning.grammar import Grammar
    from voice.meaning.phrase import Phrase
    from voice.training.phrases.faults import Lines
    from voice.training.phrases.frames import Frame, Near

NEAR = 1.3
"""Wordings nearer than this are told: one or two sounds apart (see `phone_distance`)."""
_TIMES = {"hour", "minute", "day", "month"}
"""Their ranges are what they are."""
_FRAMES_EACH = 40
_MOST_CHOICES = 80
_TENS = {10 + n: 10 * n for n in range(3, 10)}
"""Each teen and its ten, as in `voice.meaning.twins`."""


def alike_faults(
    grammar: Grammar, phrases: Sequence[Phrase], lexicon: Lexicon, lines: Lines
) -> Iterator[Fault]:
    """Everything in ``phrases`` that sounds like something else in ``grammar``, or begins it."""
    every = [frame for phrase in grammar.phrases for frame in frames(phrase)]
    mine = [frame for phrase in phrases for frame in frames(phrase, _FRAMES_EACH)]
    told: set[frozenset[int]] = set()
    near = sorted(Sounds(every, lexicon).nearest(mine, NEAR, each=2), key=lambda n: n.distance)
    for pair in near:
        both = frozenset({id(pair.one.phrase), id(pair.other.phrase)})
        if both in told:
            continue
        told.add(both)
        file = pair.one.phrase.file
        yield Fault(
            Sort.SOUNDS_ALIKE, file, lines.of(file, pair.one.phrase.say), _near(pair), pair.distance
        )
    yield from _beginnings(mine, every, lines)
    alike: dict[Slot, list[tuple[str, str, float]]] = {}
    for phrase in phrases:
        line = lines.of(phrase.file, phrase.say)
        for slot in slots_of(phrase.expression):
            numbers = {v for v in slot.forms.values() if isinstance(v, int | float)}
            if numbers:
                yield from _half_pairs(phrase, slot.field, numbers, line)
                continue
            if slot.field == "drug":
                continue  # told once, of the list of drugs
            if slot not in alike:  # one slot is of many phrases
                alike[slot] = list(_alike_values(slot, lexicon))
            yield from _values(phrase, slot, alike[slot], line)


def _near(pair: Near) -> str:
    one, other = pair.one, pair.other
    where = "" if one.phrase.file == other.phrase.file else f" ({other.phrase.file})"
    return f'"{one.text}" and "{other.text}"{where} are {pair.distance:.1f} apart; {_danger(one, other)}'


def _danger(one: Frame, other: Frame) -> str:
    """What goes wrong where one is kept for the other."""
    if one.phrase.entry is None or other.phrase.entry is None:
        return "one of them steers the talk, or asks."
    if one.phrase.entry != other.phrase.entry:
        opened = [t for t in one.tokens if t.startswith("<") and t in other.tokens]
        same = " with the same value" if opened else ""
        return f"{one.phrase.entry} would be kept as {other.phrase.entry}{same}."
    return f"both are {one.phrase.entry}: asked about where both are heard, else only the read-back tells."


def _beginnings(mine: Sequence[Frame], every: Sequence[Frame], lines: Lines) -> Iterator[Fault]:
    """Phrases that another one begins with: whoever is cut off there has said the shorter one."""
    whole = {frame.tokens: frame for frame in every if frame.phrase.time is None}
    told: set[tuple[int, int]] = set()
    ours = {id(frame.phrase) for frame in mine}
    for frame in every:
        for length in range(2, len(frame.tokens)):
            short = whole.get(frame.tokens[:length])
            if short is None or short.phrase.entry in (None, frame.phrase.entry):
                continue
            key = (id(short.phrase), id(frame.phrase))
            if frame.phrase.time is not None or key in told or not ours & set(key):
                continue
            told.add(key)
            at = frame if id(frame.phrase) in ours else short
            yield Fault(
                Sort.BEGINNING,
                at.phrase.file,
                lines.of(at.phrase.file, at.phrase.say),
                f'"{short.text}" ({short.phrase.entry}) is how "{frame.text}" '
                f"({frame.phrase.entry}) begins: who is cut off there has said the first.",
            )


def _values(
    phrase: Phrase, slot: Slot, alike: Sequence[tuple[str, str, float]], line: int | None
) -> Iterator[Fault]:
    for one, other, far in alike:
        yield Fault(
            Sort.SOUNDS_ALIKE,
            phrase.file,
            line,
            f'"{one}" and "{other}" are {far:.1f} apart; both are values of '
            f'"{slot.field}" in {phrase.entry or "one phrase"}: asked about where both are heard, else only the read-back tells.',
            far,
        )


def _alike_values(slot: Slot, lexicon: Lexicon) -> Iterator[tuple[str, str, float]]:
    """Which two values of a slot sound alike, and how far apart they are."""
    said = list(slot.forms)[:_MOST_CHOICES]
    for one, other in combinations(said, 2):
        if slot.forms[one] == slot.forms[other]:
            continue
        if (far := _between(one, other, lexicon)) <= NEAR:
            yield " ".join(one), " ".join(other), far


def _half_pairs(
    phrase: Phrase, field: str, numbers: set[int | float], line: int | None
) -> Iterator[Fault]:
    """Teens without their tens: a spoken ten would be heard as the teen, without a question."""
    lacking = [(teen, ten) for teen, ten in _TENS.items() if (teen in numbers) != (ten in numbers)]
    if lacking and phrase.entry is not None and field not in _TIMES:
        shown = ", ".join(f"{teen} and {ten}" for teen, ten in lacking)
        factor = max(ten / teen for teen, ten in lacking)
        yield Fault(
            Sort.HALF_A_PAIR,
            phrase.file,
            line,
            f'of {shown} only one is legal for "{field}" in {phrase.entry}: the other is heard as it, '
            f"up to {factor:.1f} times too much or too little, and nobody is asked. Widen the range.",
            -len(lacking),
        )


def _between(one: tuple[str, ...], other: tuple[str, ...], lexicon: Lexicon) -> float:
    """How far two values are apart, where that is near; infinite where a word is unknown."""
    ways = ways_of(one, lexicon)[:1], ways_of(other, lexicon)[:1]
    return min((distance(*pair, NEAR) for pair in product(*ways)), default=math.inf)


def nearest_words(
    ways: Sequence[Pronunciation], lexicon: Lexicon, *, exclude: str = "", most: int = 4
) -> tuple[str, ...]:
    """The known words that sound most like one of ``ways``, the nearest first."""
    coarse = sorted(
        (min(Levenshtein.distance(way, spoken) for way in ways for spoken in known), word)
        for word, known in lexicon.items()
        if word != exclude
    )
    fine = sorted(
        (min(distance(way, spoken) for way in ways for spoken in lexicon[word]), word)
        for _, word in coarse[: most * 10]
    )
    return tuple(word for _, word in fine[:most])
