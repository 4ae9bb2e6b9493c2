"""Drugs whose names sound alike, and in which units one could be kept for the other.

Names sound alike where little has to change to make one of the other; where they begin alike,
which is what the lists of look-alike names go by; and where one is the other with a beginning that gets
lost in noise. Where both are given in the same unit, only the read-back tells; that is why two drugs
in one list of alternatives are always asked about (`voice.meaning.twins`).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations, product
from typing import TYPE_CHECKING

from voice.acoustics.lexicon_file import ways_of
from voice.meaning.expression import parse_notation, wordings
from voice.training.phrases.phone_distance import change, distance

if TYPE_CHECKING:
    from collections.abc import Mapping

    from voice.acoustics.lexicon_file import Lexicon, Pronunciation
    from voice.meaning.drug_list import Drug

NEAR = 0.3
"""Cost of turning one name into the other, for each phone of the longer one, below which they are
near as a whole; for endings, for each phone of the shorter one. No source: with it the list stays
one that a person reads through."""
BEGINNING = 3
"""Phones that are compared of two beginnings."""
ALIKE = 0.25
"""Cost of changing one phone into another of a beginning up to which they are alike: P and B."""
ENDING = 5
"""An ending shorter than this says nothing: many names end in the same syllable."""


class Likeness(StrEnum):
    """In what way two names are alike, the most dangerous first."""

    WHOLE = "alike as a whole"
    ENDING = "one is the other without its beginning"
    BEGINNING = "begin alike, and end in the same sound"


@dataclass(frozen=True, slots=True)
class SoundAlike:
    """Two drugs that sound alike."""

    drugs: tuple[str, str]
    """Generic names."""
    said: tuple[str, str]
    """The two wordings that are nearest."""
    likeness: Likeness
    distance: float
    """For each phone of the longer name: 0 for the same sound, about 1 for nothing in common."""
    units: tuple[str, ...]
    """In which both are given: in these one may be kept for the other without a fault."""


def sound_alikes(drugs: Mapping[str, Drug], lexicon: Lexicon) -> tuple[SoundAlike, ...]:
    """Every two drugs that sound alike: those with a unit in common first, then the nearest.

    A wording with a word that ``lexicon`` lacks is passed over; the grammar's own check names it.
    """
    spoken = {name: _spoken(drug.said or name, lexicon) for name, drug in drugs.items()}
    found = []
    for one, other in combinations(drugs, 2):
        units = {*drugs[one].bolus, *drugs[one].rate} & {*drugs[other].bolus, *drugs[other].rate}
        ways = [
            (*_compared(phones, others), said, also)
            for (said, phones), (also, others) in product(spoken[one], spoken[other])
        ]
        alike = [(far, like, said, also) for far, like, said, also in ways if like is not None]
        if alike:
            far, like, said, also = min(alike)
            found.append(SoundAlike((one, other), (said, also), like, far, tuple(sorted(units))))
    return tuple(sorted(found, key=lambda pair: (not pair.units, pair.distance, pair.drugs)))


def _spoken(said: str, lexicon: Lexicon) -> list[tuple[str, Pronunciation]]:
    """Each wording with all its pronunciations; several words with the commonest of each."""
    spoken = []
    for words in wordings(parse_notation(said, {})):
        ways = ways_of(words, lexicon)
        spoken += [(" ".join(words), way) for way in (ways if len(words) == 1 else ways[:1])]
    return spoken


def _compared(one: Pronunciation, other: Pronunciation) -> tuple[float, Likeness | None]:
    """How far apart two names are, and in what way they are alike; ``None`` if they are not."""
    short, long = sorted((one, other), key=len)
    far = distance(short, long) / len(long)
    if far < NEAR:
        return far, Likeness.WHOLE
    if len(short) >= ENDING and distance(short, long[-len(short) :]) / len(short) < NEAR:
        return far, Likeness.ENDING
    frame = zip((*one[:BEGINNING], one[-1]), (*other[:BEGINNING], other[-1]), strict=True)
    if all(_alike(a, b) for a, b in frame):
        return far, Likeness.BEGINNING
    return far, None


def _alike(one: str, other: str) -> bool:
    """Whether two phones are nearly the same; of vowels any two, as stress changes them."""
    return change(one, other) <= ALIKE or {one[0], other[0]} <= set("AEIOU")
