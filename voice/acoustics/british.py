"""How a British speaker says a word that the dictionary gives the American way.

The CMU Pronouncing Dictionary is American. Southern British speech differs from it by a few rules;
those that hold for some words only (half, past; tube, new) have their words in ``british.toml``.
A word that differs in a way of its own (the first vowel of "patent") has both pronunciations in
``lexicon.toml``.

Source: J. C. Wells, "Accents of English", 1982, for the rules (from memory); where British speech
has a vowel that the 39 phones lack, the nearest one is taken.
"""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

_WORD_LISTS = Path(__file__).with_name("british.toml")

_VOWELS = frozenset(
    ["AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW"]
)
_BEFORE_LOST_R = {
    "IH": ("IY", "AH"),
    "IY": ("IY", "AH"),
    "UH": ("UH", "AH"),
    "AY": ("AY", "AH"),
    "AW": ("AW", "AH"),
}
"""What a vowel becomes where the R after it is lost; the others stay as they are."""


@cache
def _listed(name: str) -> frozenset[str]:
    return frozenset(tomllib.loads(_WORD_LISTS.read_text(encoding="utf-8"))[name].split())


def british(word: str, american: Sequence[str]) -> tuple[str, ...]:
    """The British form of an American pronunciation; the same phones where they agree.

    The rules:

    - R is heard before vowels only: four F AO, chart CH AA T, clear K L IY AH.
    - ER without stress is a schwa: pressure P R EH SH AH; before a vowel R stays: memory M EH M AH R IY.
      Under stress it is a long vowel with no phone of its own, and ER stays the nearest.
      Before a vowel ER is a short vowel and R: current K AH R AH N T.
    - the short o is rounded: not N AO T;
    - in the listed words the a is long (half HH AA F), or a Y stands before the u (tube T Y UW B).

    ``american`` may carry the dictionary's stress (ER0, ER1). Without it ER counts as unstressed
    in the last syllable of a longer word.
    """
    long_a, y_before_u = word in _listed("long_a"), word in _listed("y_before_u")
    bare = [phone.rstrip("012") for phone in american]
    spoken: list[str] = []
    for place, phone in enumerate(bare):
        before_vowel = bare[place + 1 : place + 2] in ([vowel] for vowel in _VOWELS)
        if phone == "R" and spoken and spoken[-1] in _VOWELS and not before_vowel:
            spoken[-1:] = _BEFORE_LOST_R.get(spoken[-1], (spoken[-1],))
        elif phone == "ER" and (before_vowel or not _stressed(american, place)):
            spoken += ["AH", "R"] if before_vowel else ["AH"]
        elif phone == "AA" and not _loses_r(bare[place + 1 : place + 3]):
            spoken.append("AO")
        elif phone == "AE" and long_a:
            spoken.append("AA")
        elif phone in {"UW", "UH"} and y_before_u and bare[place - 1] in {"T", "D", "N"}:
            spoken += ["Y", phone]
        else:
            spoken.append(phone)
    return tuple(spoken)


def _stressed(american: Sequence[str], place: int) -> bool:
    """Whether the vowel at ``place`` is stressed, by its mark or, without one, by where it stands."""
    phone = american[place]
    if phone[-1].isdigit():
        return phone[-1] != "0"
    return any(p in _VOWELS for p in american[place + 1 :]) or not any(
        p in _VOWELS for p in american[:place]
    )


def _loses_r(following: Sequence[str]) -> bool:
    """Whether the next two phones are an R that is not heard, and what follows it."""
    return following[:1] == ["R"] and not _VOWELS.intersection(following[1:])
