"""Segments to hypotheses: Vosk with a strict grammar, and what any speech would have scored."""

from __future__ import annotations

import json
from functools import lru_cache
from typing import TYPE_CHECKING, Protocol

import vosk

from voice.acoustics.shipped import MODEL_FOLDER
from voice.entries.heard import SAMPLE_RATE, Alternative, Hearing
from voice.hearing.model import DECODING, SPARING, UNKNOWN, ModelFolderError
from voice.hearing.segmenter import AROUND_S
from voice.meaning.acceptor import Acceptor, Arc

if TYPE_CHECKING:
    from collections.abc import Mapping

    from voice.entries.heard import Segment
    from voice.hearing.model import AcousticModel

ALTERNATIVES = 10
"""Phrases asked for; enough to hold the twin of a misheard value (docs/bench.md)."""
UNKNOWN_PER_S = 5.0
"""What ``[unk]`` is given for each second of speech: a phrase that was said leads it by 20 a second,
one that was made out of other speech by 3, so that a short phrase tells less than a long one."""

_ANYTHING = Acceptor(arcs=((Arc(UNKNOWN, 1),), ()), finals={1: 0.0})

vosk.SetLogLevel(-1)


class Listener(Protocol):
    """Makes out what was said in a segment."""

    def hear(self, segment: Segment) -> Hearing:
        """What may have been said, likeliest first."""


class VoskListener:
    """Hears whole phrases of one grammar, beside ``[unk]``, and nothing else.

    Two searches run over each segment, one for phrases and one for any speech. In a single search
    the lead of either would push the other out of sight, and the margin between them, which tells
    speech for us from other speech, would be lost.

    Loading takes a few tenths of a second; make one for each state of the talk.
    """

    def __init__(
        self, model: AcousticModel, acceptor: Acceptor, *, alternatives: int = ALTERNATIVES
    ) -> None:
        """Load ``model`` with ``acceptor`` as its grammar.

        Raises ``ModelFolderError`` where Vosk refuses the model, and ``GrammarWordsError`` where the
        model lacks words of the grammar.
        """
        self._phrases = _load(model, acceptor)
        self._anything = _load_anything(model)
        self._alternatives = alternatives

    def hear(self, segment: Segment) -> Hearing:
        """What may have been said, likeliest first; scores are natural log-likelihoods."""
        phrases = _decode(self._phrases, segment, self._alternatives)
        given = UNKNOWN_PER_S * max(0.0, segment.speech_end_s - segment.start_s - AROUND_S)
        anything = [
            Alternative(UNKNOWN, found.score + given)
            for found in _decode(self._anything, segment, 1)
        ]
        return Hearing(tuple(sorted(phrases + anything, key=lambda found: -found.score)))


def _load(
    model: AcousticModel, acceptor: Acceptor, decoding: Mapping[str, str] = DECODING
) -> vosk.Model:
    with model.with_grammar(acceptor, decoding) as strict:
        try:
            return vosk.Model(model_path=str(strict))
        except Exception as error:
            raise ModelFolderError(
                f"Vosk cannot load the acoustic model in {model.folder}, though its files are whole. "
                "Make the model again, or name another."
            ) from error


@lru_cache(maxsize=1)
def _load_anything(model: AcousticModel) -> vosk.Model:
    """The same for every grammar, so it is loaded once."""
    # too narrow a search would score other speech too low, so only where that was measured
    return _load(model, _ANYTHING, SPARING if model.folder == MODEL_FOLDER else DECODING)


def _decode(model: vosk.Model, segment: Segment, alternatives: int) -> list[Alternative]:
    # a fresh recogniser each time: one that is used again may carry state over, or crash
    recogniser = vosk.KaldiRecognizer(model, float(SAMPLE_RATE))
    recogniser.SetMaxAlternatives(alternatives)
    recogniser.AcceptWaveform(segment.samples.tobytes())
    result = json.loads(recogniser.FinalResult())
    return [
        Alternative(text=found["text"], score=float(found["confidence"]))
        for found in result["alternatives"]
        if found["text"]
    ]
