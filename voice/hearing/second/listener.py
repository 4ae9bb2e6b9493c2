"""Segments to hypotheses by Whisper, kept to the phrases of one grammar."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from voice.entries.heard import Alternative, Hearing
from voice.hearing.model import UNKNOWN
from voice.hearing.second.features import log_mel
from voice.hearing.second.network import Decoder, Encoder
from voice.hearing.second.search import TokenTries, search
from voice.hearing.second.spelling import BEFORE, END, NO_TIMES, START, Spelling
from voice.hearing.second.weights import read_weights, verify

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping
    from pathlib import Path

    from numpy.typing import NDArray

    from voice.entries.heard import Segment
    from voice.meaning.acceptor import Acceptor

ALTERNATIVES = 10
SHORTEST_S = 3.0
AFTER_S = 1.0
COMMON = 8000
"""So many of all tokens, the commonest, are weighed against those of the grammar; the rest is rare words and
other languages, and weighing them all takes three times as long."""
EARLIER = "drain level ten centimetres blood pressure one twenty four over seventy i c p fourteen"


class WhisperModel:
    """The network and its tokens, loaded once for all grammars."""

    def __init__(
        self, arrays: Mapping[str, NDArray[np.generic]], spelling: Spelling, words: Collection[str]
    ) -> None:
        """Make ready for grammars of no other words than ``words``."""
        own = [token for word in (*words, *EARLIER.split()) for token in spelling.word(word)]
        special = (END, START, BEFORE, NO_TIMES)
        tokens = np.unique(np.array([*range(COMMON), *own, *special]))
        self.tokens = tokens
        self.place = {int(token): place for place, token in enumerate(tokens)}
        self.spelling = spelling
        self.encoder = Encoder(arrays)
        self.decoder = Decoder(arrays, tokens)

    @classmethod
    def open(cls, folder: Path, words: Collection[str]) -> WhisperModel:
        """Load from ``folder`` for grammars of no other words than ``words``.

        Raises ``WeightsError`` where a file is absent or is not the one that was measured.
        """
        verify(folder)
        arrays = read_weights(folder / "model.bin")
        return cls(arrays, Spelling(folder / "tokenizer.json"), words)

    def places(self, text: str) -> tuple[int, ...]:
        """The tokens of words, each by its place."""
        return tuple(self.place[t] for word in text.split() for t in self.spelling.word(word))


class WhisperListener:
    """Hears whole phrases of one grammar, beside ``[unk]``: what any speech would have been given."""

    def __init__(
        self, model: WhisperModel, acceptor: Acceptor, *, alternatives: int = ALTERNATIVES
    ) -> None:
        self._model = model
        self._alternatives = alternatives
        self._tries = TokenTries(acceptor, self._spelled)
        place = model.place
        self._opening = (place[BEFORE], *model.places(EARLIER), place[START])

    def hear(self, segment: Segment) -> Hearing:
        """What may have been said, likeliest first; scores are natural log-likelihoods."""
        model = self._model
        length_s = max(SHORTEST_S, segment.end_s - segment.start_s + AFTER_S)
        sound = model.decoder.look_at(model.encoder.encode(log_mel(segment.samples, length_s)))
        phrases, free = search(
            model.decoder,
            sound,
            model.decoder.open(self._opening, sound),
            self._tries,
            first=model.place[NO_TIMES],
            end=model.place[END],
            most=self._alternatives,
        )
        found = [Alternative(" ".join(one.words), one.score) for one in phrases]
        anything = Alternative(UNKNOWN, free.score)
        return Hearing(tuple(sorted((*found, anything), key=lambda one: -one.score)))

    def _spelled(self, word: str) -> Iterator[tuple[int, ...]]:
        yield self._model.places(word)
