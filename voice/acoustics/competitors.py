"""Phrases that are easily heard instead of another: fifteen for fifty, nine for five.

Training sets each phrase against a few of these, so that the network learns the difference and
not only the phrase. A competitor has one word replaced by one that sounds near, or a number word
too many or too few.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import random
    from collections.abc import Iterable, Sequence

    from voice.acoustics.lexicon import Lexicon, Pronunciation

_UNITS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_TEENS = (
    *("ten", "eleven", "twelve", "thirteen", "fourteen"),
    *("fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
)
NUMBER_WORDS = ("zero", "oh", *_UNITS, *_TEENS, *_TENS, "hundred", "point")
TWINS = {
    "thirteen": "thirty",
    "fourteen": "forty",
    "fifteen": "fifty",
    "sixteen": "sixty",
    "seventeen": "seventy",
    "eighteen": "eighty",
    "nineteen": "ninety",
}
"""Teens and the tens that sound like them."""
_TWIN = TWINS | {ten: teen for teen, ten in TWINS.items()}
_NEAREST = 8


def phone_distance(a: Sequence[str], b: Sequence[str]) -> int:
    """How many phones must be changed, added or left out (Levenshtein)."""
    row = list(range(len(b) + 1))
    for i, phone in enumerate(a, start=1):
        before, row[0] = row[0], i
        for j, other in enumerate(b, start=1):
            before, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, before + (phone != other))
    return row[-1]


@dataclass(frozen=True, slots=True)
class Competitors:
    """For each word the words that sound nearest to it."""

    near: dict[str, tuple[str, ...]]

    @classmethod
    def among(cls, words: Iterable[str], lexicon: Lexicon) -> Competitors:
        """Find the nearest words of each word; homophones are no competitors."""
        known = sorted({*words, *NUMBER_WORDS} & lexicon.keys())

        def distance(a: str, b: str) -> float:
            return min(phone_distance(p, q) for p in lexicon[a] for q in lexicon[b])

        near = {}
        for word in known:
            others = sorted((distance(word, other), other) for other in known if other != word)
            near[word] = tuple(other for far, other in others if far > 0)[:_NEAREST]
        return cls(near)

    def draw(self, text: str, rng: random.Random) -> str | None:
        """One text that might be heard for ``text``; ``None`` where no word has a near one."""
        words = text.split()
        numbers = [i for i, word in enumerate(words) if word in NUMBER_WORDS]
        twins = [i for i in numbers if words[i] in _TWIN]
        places = [i for i, word in enumerate(words) if word in self.near]
        if not places:
            return None
        way = rng.random()
        if twins and way < 0.45:
            at = rng.choice(twins)
            words[at] = _TWIN[words[at]]
        elif numbers and way < 0.6:
            at = rng.choice(numbers)
            if len(numbers) > 1 and rng.random() < 0.5:
                del words[at]
            else:
                words.insert(at + 1, rng.choice(NUMBER_WORDS))
        else:
            at = rng.choice(numbers if numbers and rng.random() < 0.6 else places)
            words[at] = rng.choice(self.near[words[at]])
        return " ".join(words)


def phones_of(text: str, lexicon: Lexicon, rng: random.Random) -> Pronunciation | None:
    """The phones of a text, each word in one of its pronunciations; ``None`` for a strange word."""
    phones: list[str] = []
    for word in text.split():
        if word not in lexicon:
            return None
        phones += rng.choice(lexicon[word])
    return tuple(phones)
