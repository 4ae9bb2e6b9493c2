"""The wordings of phrases with their values left open, and which of them sound alike.

A frame is one way through a phrase: its words, and the places of its values. Values of one slot are
compared with each other, frames with each other; so what a few thousand phrases sound like can be
compared in seconds, though with all their values they are millions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import chain, islice
from typing import TYPE_CHECKING

import numpy as np
from rapidfuzz.distance import Levenshtein
from rapidfuzz.process import cdist

from voice.meaning.expression import Either, Marked, Row, Slot, Word
from voice.training.phrases.phone_distance import distance

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Sequence

    from voice.acoustics.lexicon_file import Lexicon, Pronunciation
    from voice.meaning.phrase import Phrase

MOST_FRAMES = 400
"""So many wordings of one phrase are looked at; the rest differs in what may be left out."""
FEW_FORMS = 12
"""A slot with no more ways of being said than this is looked at word by word."""
_COMMON_CHANGE = 0.4
"""A change of one sound seldom costs less."""
_WEIGHED = 40
"""So many of the coarsely nearest are weighed."""
_OPEN = 3
"""A value that is left open counts as so many sounds of its own."""


@dataclass(frozen=True, slots=True)
class Frame:
    """One wording of a phrase; an open value stands in it as ``<field>``."""

    phrase: Phrase
    tokens: tuple[str, ...]
    values: frozenset[tuple[str, object]]
    """The fields whose values are told by words of the frame itself."""

    @property
    def text(self) -> str:
        """As it is written: "drain level <level_cmh2o>"."""
        return " ".join(self.tokens)

    @property
    def meaning(self) -> Hashable:
        """What it means, but for the open values; equal for wordings that mean the same."""
        p = self.phrase
        fixed = frozenset((name, str(value)) for name, value in p.fixed.items())
        told = frozenset((name, str(value)) for name, value in self.values)
        opened = frozenset(t for t in self.tokens if t.startswith("<"))
        makes = (p.entry, p.time, p.talk, p.question, p.choice, p.correction, p.lead_in)
        return *makes, fixed | told, opened


def frames(phrase: Phrase, most: int = MOST_FRAMES) -> tuple[Frame, ...]:
    """The wordings of ``phrase``, at most so many."""
    ways = dict(islice(_ways(phrase.expression), most * 2))
    return tuple(Frame(phrase, tokens, values) for tokens, values in islice(ways.items(), most))


_Way = tuple[tuple[str, ...], frozenset[tuple[str, object]]]


def _ways(node: object) -> Iterator[_Way]:
    match node:
        case Word(text):
            yield (text,), frozenset()
        case Row(parts):
            yield from _in_a_row(parts)
        case Either(parts):
            yield from chain.from_iterable(map(_ways, parts))
        case Marked(part):
            yield from _ways(part)
        case Slot(field, forms) if len(forms) <= FEW_FORMS and _are_names(forms.values()):
            for form, value in forms.items():
                yield form, frozenset({(field, value)})
        case Slot(field):
            yield (f"<{field}>",), frozenset()


def _in_a_row(parts: tuple[object, ...]) -> Iterator[_Way]:
    if not parts:
        yield (), frozenset()
        return
    for words, values in _ways(parts[0]):
        for more, others in _in_a_row(parts[1:]):
            yield (*words, *more), values | others


def _are_names(values: object) -> bool:
    return all(isinstance(value, str) for value in values)  # type: ignore[attr-defined]


@dataclass(frozen=True, slots=True)
class Near:
    """Two frames that mean different things and sound alike."""

    one: Frame
    other: Frame
    distance: float


def spoken(tokens: Sequence[str], lexicon: Lexicon) -> tuple[Pronunciation, ...]:
    """How a frame is said: by the commonest pronunciations, and by the last (British) ones.

    A word that the lexicon lacks, and an open value, stand as sounds of their own.
    """

    def said(token: str, which: int) -> Sequence[str]:
        if token.startswith("<"):
            return [token] * _OPEN
        ways = lexicon.get(token)
        return ways[which] if ways else [f"?{letter}" for letter in token]

    rows = (tuple(p for t in tokens for p in said(t, which)) for which in (0, -1))
    return tuple(dict.fromkeys(rows))


class Sounds:
    """Frames to find sound-alikes among."""

    def __init__(self, known: Sequence[Frame], lexicon: Lexicon) -> None:
        self._known = known
        self._lexicon = lexicon
        self._letters: dict[str, str] = {}
        self._meanings = [frame.meaning for frame in known]
        self._encoded = [self._encode(spoken(frame.tokens, lexicon)[0]) for frame in known]

    def nearest(self, asked: Sequence[Frame], most: float, each: int) -> list[Near]:
        """For each of ``asked``, the ``each`` nearest that mean something else, up to ``most`` apart."""
        if not asked or not self._known:
            return []
        rows = [self._encode(spoken(frame.tokens, self._lexicon)[0]) for frame in asked]
        cutoff = math.ceil(most / _COMMON_CHANGE)
        coarse = cdist(rows, self._encoded, scorer=Levenshtein.distance, score_cutoff=cutoff)
        found = []
        for frame, distances in zip(asked, coarse, strict=True):
            # the coarse distance counts sounds; the nearest by it are weighed by how they sound
            (close,) = np.nonzero(distances <= cutoff)
            order = close[distances[close].argsort(kind="stable")]
            meaning = frame.meaning
            others = (self._known[i] for i in order if self._meanings[i] != meaning)
            weighed = sorted(
                (Near(frame, o, self._between(frame, o, most)) for o in islice(others, _WEIGHED)),
                key=lambda near: near.distance,
            )
            found += [near for near in weighed[:each] if near.distance <= most]
        return found

    def _between(self, one: Frame, other: Frame, most: float) -> float:
        return min(
            distance(a, b, most)
            for a in spoken(one.tokens, self._lexicon)
            for b in spoken(other.tokens, self._lexicon)
        )

    def _encode(self, phones: Sequence[str]) -> str:
        """A letter for each sound."""
        return "".join(self._letters.setdefault(p, chr(0x100 + len(self._letters))) for p in phones)
