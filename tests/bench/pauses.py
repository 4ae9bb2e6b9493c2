"""Pauses within phrases: how long they are, and what would be taken if each ended the phrase.

    python -m tests.bench.pauses STRANGE [--most 400]

STRANGE is the folder that ``voice.acoustics.strangers`` fills: slow voices that no model has heard. Each phrase is
listened to without noise and in helicopter at 10 dB; every pause of 0.3 s and more within it is counted, and
what was said before it is heard as it would be if nothing more came.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from tests.bench.attention import NOISE
from tests.bench.corpus import in_noise, read_noise, read_speech
from voice.entries.heard import SAMPLE_RATE, Block
from voice.entries.leg import LegSettings
from voice.hearing.segmenter import FRAME_S, UNVOICED, Segmenter
from voice.hearing.vad import SileroVad
from voice.meaning.decision import Accept
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening
from voice.session.ears import Ears
from voice.session.models import SHIPPED_MODEL

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from voice.entries.heard import Segment
    from voice.entries.said import Meaning

LONGEST_S = 3.0
"""Nobody pauses for so long within a phrase."""
LENGTHS_S = (0.3, 0.4, 0.5, 0.6)


class Pause(NamedTuple):
    """A pause within a phrase."""

    length_s: float
    half: str | None
    """What would be taken, if it ended the phrase; ``None``: nothing, or the same as of the whole."""


class Noting(SileroVad):
    """A detector that keeps what it said."""

    def __init__(self) -> None:
        super().__init__()
        self.probabilities: list[float] = []

    def probability(self, frame: NDArray[np.int16]) -> float:
        """As ever."""
        self.probabilities.append(super().probability(frame))
        return self.probabilities[-1]


def pauses(ears: Ears, sound: NDArray[np.int16], meant: Meaning) -> Iterator[Pause]:
    """All pauses within one phrase."""
    detector = Noting()
    found: list[tuple[float, Meaning | None, str]] = []

    def ask(segment: Segment) -> float:
        _, decision = ears.make_out(segment, Listening.LISTENING)
        heard = decision.heard if isinstance(decision, Accept) else None
        found.append(
            (
                segment.speech_end_s,
                None if heard is None else heard.meaning,
                "" if heard is None else heard.text,
            )
        )
        return LONGEST_S

    Segmenter(detector).feed(Block(0.0, sound), ask)
    for end_s, meaning, text in found:
        after = np.array(detector.probabilities[round(end_s / FRAME_S) :])
        (voiced,) = np.nonzero(after >= UNVOICED)
        if len(voiced):  # else it is the end
            yield Pause(voiced[0] * FRAME_S, text if meaning not in {None, meant} else None)


def main() -> None:
    """Count and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("strange", type=Path)
    parser.add_argument("--most", type=int, default=400)
    options = parser.parse_args()
    grammar, settings = load_grammar(), LegSettings()
    ears = Ears.load(SHIPPED_MODEL, grammar, settings)
    noise = read_noise(NOISE, "*.ogg")
    phrases = [
        (one, meant)
        for item, one in read_speech(options.strange, ("strange",))
        if item["set"] == "strange-phrases"
        for meant in grammar.parse(one.text, settings, Listening.LISTENING)[:1]
    ][: options.most]
    quiet = np.zeros(SAMPLE_RATE // 2, dtype=np.int16)
    for snr_db in (None, 10.0):
        found = [
            pause
            for n, (one, meant) in enumerate(phrases)
            for pause in pauses(
                ears,
                np.concatenate((in_noise(one.samples, noise, snr_db, n * 70_000), quiet)),
                meant,
            )
        ]
        for length_s in LENGTHS_S:
            long = [pause for pause in found if pause.length_s >= length_s]
            taken = [pause.half for pause in long if pause.half]
            sys.stdout.write(
                f"{len(phrases)} phrases, {snr_db} dB: {len(long)} pauses of {length_s} s and more, "
                f"{len(taken)} halves taken: {taken[:8]}\n"
            )


if __name__ == "__main__":
    main()
