"""Segments to hypotheses: Vosk with a strict grammar."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Protocol

import vosk

from voice.entries.heard import SAMPLE_RATE, Alternative, Hearing
from voice.hearing.model import AcousticModel, ModelFolderError

if TYPE_CHECKING:
    from pathlib import Path

    from voice.entries.heard import Segment
    from voice.meaning.acceptor import Acceptor

ALTERNATIVES = 10
"""Phrases asked for; enough to hold the twin of a misheard value (docs/bench.md)."""
UNKNOWN_COST = 1.0
"""Cost of ``[unk]`` against any phrase: lower lets less other speech through, and fewer phrases
in noise (docs/bench.md)."""

vosk.SetLogLevel(-1)


class Listener(Protocol):
    """Makes out what was said in a segment."""

    def hear(self, segment: Segment) -> Hearing:
        """What may have been said, likeliest first."""


class VoskListener:
    """Hears whole phrases of one grammar, or ``[unk]``, and nothing else.

    Loading takes a few tenths of a second and about 20 MB; make one for each state of the talk.
    """

    def __init__(
        self,
        model_folder: Path,
        acceptor: Acceptor,
        *,
        alternatives: int = ALTERNATIVES,
        unknown_cost: float = UNKNOWN_COST,
    ) -> None:
        """Load the model in ``model_folder`` with ``acceptor`` as its grammar.

        Raises what ``AcousticModel.open`` raises, ``ModelFolderError`` where Vosk refuses the
        model, and ``GrammarWordsError`` where the model lacks words of the grammar.
        """
        model = AcousticModel.open(model_folder)
        with model.with_grammar(acceptor, unknown_cost=unknown_cost) as strict:
            try:
                self._model = vosk.Model(model_path=str(strict))
            except Exception as error:
                raise ModelFolderError(
                    f"Vosk cannot load the acoustic model in {model_folder}, though its files are "
                    "whole. Make the model again, or name another."
                ) from error
        self._alternatives = alternatives

    def hear(self, segment: Segment) -> Hearing:
        """What may have been said, likeliest first; scores are natural log-likelihoods."""
        # a fresh recogniser each time: one that is used again may carry state over, or crash
        recogniser = vosk.KaldiRecognizer(self._model, float(SAMPLE_RATE))
        recogniser.SetMaxAlternatives(self._alternatives)
        recogniser.AcceptWaveform(segment.samples.tobytes())
        result = json.loads(recogniser.FinalResult())
        return Hearing(
            tuple(
                Alternative(text=found["text"], score=float(found["confidence"]))
                for found in result["alternatives"]
                if found["text"]
            )
        )
