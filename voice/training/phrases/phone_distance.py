"""How far two rows of phones are from each other: the least cost of turning one into the other.

A phone costs more to change the less it sounds like the other: 0 for the same, 1 for a vowel against
a stop. Leaving a phone out costs less where it is one that fast speech swallows. So "fifteen" and
"fifty" are 0.6 apart, "nine" and "five" 1.6, "pressure" and "drained" 2.6.

Source of the features: articulatory phonetics as in any textbook (from memory); the costs are this
project's own, without a source, and only rank what sounds alike. What the recogniser makes of two
phrases is told by `voice.training.phrases.proof`.
"""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise, takewhile
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

GAP = 1.0
"""Cost of a phone that one of the two lacks."""
SWALLOWED = 0.6
"""The same for those that are easily swallowed or made up."""
_ROUNDING = 0.001
_EASILY_SWALLOWED = frozenset(["AH", "IH", "T", "D", "HH", "N", "L", "R", "ER", "Y"])

# Vowels by where the tongue is: height (0 open to 3 close), place (0 front to 2 back), and for
# diphthongs where they end.
_VOWELS = {
    "IY": (3, 0), "IH": (2.5, 0.4), "EY": (2, 0, 3, 0), "EH": (1.5, 0), "AE": (0.7, 0),
    "AA": (0, 1.6), "AO": (1, 2), "OW": (2, 2, 2.7, 2), "UH": (2.5, 1.6), "UW": (3, 2),
    "AH": (1.2, 1.1), "ER": (1.7, 1.0), "AY": (0.3, 0.8, 2.8, 0.2), "AW": (0.3, 0.9, 2.7, 1.8),
    "OY": (1, 2, 2.8, 0.2),
}  # fmt: skip
# Consonants by manner, by place (0 lips to 7 throat) and by voice.
_CONSONANTS = {
    "P": ("stop", 0, 0), "B": ("stop", 0, 1), "T": ("stop", 3, 0), "D": ("stop", 3, 1),
    "K": ("stop", 6, 0), "G": ("stop", 6, 1), "CH": ("affricate", 4, 0), "JH": ("affricate", 4, 1),
    "F": ("fricative", 1, 0), "V": ("fricative", 1, 1), "TH": ("fricative", 2, 0),
    "DH": ("fricative", 2, 1), "S": ("fricative", 3, 0), "Z": ("fricative", 3, 1),
    "SH": ("fricative", 4, 0), "ZH": ("fricative", 4, 1), "HH": ("fricative", 7, 0),
    "M": ("nasal", 0, 1), "N": ("nasal", 3, 1), "NG": ("nasal", 6, 1), "L": ("liquid", 3, 1),
    "R": ("liquid", 4, 1), "W": ("glide", 0, 1), "Y": ("glide", 5, 1),
}  # fmt: skip
_NEAR_MANNERS = {
    frozenset({"stop", "affricate"}), frozenset({"fricative", "affricate"}),
    frozenset({"liquid", "glide"}), frozenset({"nasal", "liquid"}),
}  # fmt: skip


def distance(one: Sequence[str], other: Sequence[str], most: float = math.inf) -> float:
    """The least cost of turning ``one`` into ``other``; a name that is no phone costs as a gap.

    It is the same both ways, and 0 only for equal rows. Where it is more than ``most``, it may be told
    as infinite: that is known long before the end.
    """
    same = _same_start(one, other)
    one, other = one[same:], other[same:]
    same = _same_start(one[::-1], other[::-1])
    one, other = one[: len(one) - same], other[: len(other) - same]
    row = [0.0]
    for phone in other:
        row.append(row[-1] + gap(phone))
    for phone in one:
        left_out = gap(phone)
        new = [row[0] + left_out]
        for (diagonal, above), wanted in zip(pairwise(row), other, strict=True):
            new.append(
                min(diagonal + change(phone, wanted), above + left_out, new[-1] + gap(wanted))
            )
        row = new
        if min(row) > most + _ROUNDING:
            return math.inf
    return round(row[-1], 3)


def _same_start(one: Sequence[str], other: Sequence[str]) -> int:
    """How many phones both begin with; they cost nothing whatever follows."""
    return sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(one, other, strict=False)))


def gap(phone: str) -> float:
    """What it costs to leave ``phone`` out."""
    return SWALLOWED if phone in _EASILY_SWALLOWED else GAP


@cache
def change(one: str, other: str) -> float:
    """What it costs to say ``other`` for ``one``, 0 to 1."""
    if one == other:
        return 0.0
    if one in _VOWELS and other in _VOWELS:
        return _between_vowels(_VOWELS[one], _VOWELS[other])
    if one in _CONSONANTS and other in _CONSONANTS:
        return _between_consonants(_CONSONANTS[one], _CONSONANTS[other])
    if {one, other} in ({"ER", "R"}, {"UW", "W"}, {"IY", "Y"}):
        return 0.4
    return 1.0


def _between_vowels(one: tuple[float, ...], other: tuple[float, ...]) -> float:
    begins = abs(one[0] - other[0]) / 3 + abs(one[1] - other[1]) / 2
    ends = abs(one[-2] - other[-2]) / 3 + abs(one[-1] - other[-1]) / 2
    return min(0.9, max(0.15, (begins + ends) / 2))


def _between_consonants(one: tuple[str, int, int], other: tuple[str, int, int]) -> float:
    cost = 0.06 * min(abs(one[1] - other[1]), 5) + 0.25 * (one[2] != other[2])
    if one[0] != other[0]:
        cost += 0.3 if frozenset({one[0], other[0]}) in _NEAR_MANNERS else 0.55
    return min(1.0, max(0.2, cost))
