"""Segments to hypotheses by Whisper, kept to the phrases of one grammar."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from voice.entries.heard import Alternative, Hearing
from voice.hearing.model import UNKNOWN
from voice.hearing.second.features import log_mel
from voice.hearing.second.network import Decoder, Encoder
from voice.hearing.second.phrases import Phrases, texts
from voice.hearing.second.search import Found, Frame, search
from voice.hearing.second.spelling import END, NO_TIMES, START, Spelling
from voice.hearing.second.weights import read_weights, verify
from voice.hearing.second.writings import MARKS, STOP

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from voice.entries.heard import Segment
    from voice.meaning.acceptor import Acceptor

ALTERNATIVES = 10
"""Phrases given, beside ``[unk]``."""
SHORTEST_S = 3.0
"""No less sound is encoded; what is missing is silence."""
AFTER_S = 1.0
"""Silence after the segment; measured in docs/second-listener.md."""
COMMON = 8000
"""So many of all tokens, the commonest, are weighed against those of the grammar; the rest is rare words and
other languages, and weighing them all takes longer."""


class WhisperModel:
    """The network and its tokens, loaded once for all grammars."""

    def __init__(
        self, arrays: Mapping[str, NDArray[np.generic]], spelling: Spelling, legal: Collection[str]
    ) -> None:
        """Make ready for grammars of which nothing is written but ``legal``."""
        figures = spelling.figures()
        own = {token for text in legal for token in spelling.tokens(text)}
        marks = {t for mark in MARKS for t in spelling.tokens(mark)}
        special = {END, START, NO_TIMES}
        tokens = np.array(sorted({*range(COMMON), *own, *marks, *figures, *special}))
        self._tokens = tokens
        self._spelling = spelling
        self._place = {int(token): place for place, token in enumerate(tokens)}
        self.encoder = Encoder(arrays)
        self.decoder = Decoder(arrays, tokens)
        self.figures = {self._place[token]: text for token, text in figures.items()}
        self.frame = Frame(
            opening=(self._place[START], self._place[NO_TIMES]),
            end=self._place[END],
            marks=[self._place[token] for token in sorted(marks)],
            stop=self._place[spelling.tokens(STOP)[0]],
        )

    @classmethod
    def open(cls, folder: Path, *grammars: Acceptor) -> WhisperModel:
        """Load from ``folder`` for these grammars.

        Raises ``WeightsError`` where a file is absent or is not the one that was measured.
        """
        verify(folder)
        arrays = read_weights(folder / "model.bin")
        legal = set().union(*map(texts, grammars))
        return cls(arrays, Spelling(folder / "tokenizer.json"), legal)

    def text(self, places: Sequence[int]) -> str:
        """What tokens, each by its place, spell."""
        return self._spelling.text([int(self._tokens[place]) for place in places])

    def places(self, text: str) -> tuple[int, ...] | None:
        """The tokens of a writing, each by its place; ``None`` where one is not known."""
        places = [self._place.get(token) for token in self._spelling.tokens(text)]
        known = tuple(place for place in places if place is not None)
        return known if len(known) == len(places) else None


class WhisperListener:
    """Hears whole phrases of one grammar, beside ``[unk]``: what any speech would have been given."""

    def __init__(
        self, model: WhisperModel, acceptor: Acceptor, *, alternatives: int = ALTERNATIVES
    ) -> None:
        self._model = model
        self._alternatives = alternatives
        self._phrases = Phrases(acceptor, model.places, model.figures)
        self._phrases.at(0)  # the most by far: not while the first entry waits

    def hear(self, segment: Segment) -> Hearing:
        """What may have been said, likeliest first; scores are natural log-likelihoods."""
        phrases, free = self.search(segment)
        found = [Alternative(" ".join(one.words), one.score) for one in phrases]
        anything = Alternative(UNKNOWN, free.score)
        return Hearing(tuple(sorted((*found, anything), key=lambda one: -one.score)))

    def search(self, segment: Segment) -> tuple[list[Found], Found]:
        """The likeliest phrases, likeliest first, and what is written without a grammar."""
        model = self._model
        length_s = max(SHORTEST_S, segment.end_s - segment.start_s + AFTER_S)
        sound = model.decoder.look_at(model.encoder.encode(log_mel(segment.samples, length_s)))
        return search(model.decoder, sound, self._phrases, model.frame, most=self._alternatives)
