"""How the attention word is heard, and what other words and other talk are taken for it.

    python -m tests.bench.attention ../shared/acoustic/speech [--word secretary] [--phrases 14] [--others 4]

Phrases drawn from the grammar are spoken by synthesisers: behind the word, behind other words, and
without any. Sentences of people (every so many of them) and phrases of the development voices are
listened to as well. It listens as while a read-back waits, when most is legal.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from tests.bench.corpus import (
    VOICES,
    Utterance,
    in_noise,
    other_speech,
    phrases_of_lists,
    read_noise,
    speak,
)
from voice.entries.heard import SAMPLE_RATE, Block
from voice.entries.leg import LegSettings
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import SileroVad
from voice.meaning.decision import Accept, AskBetween, NotUnderstood
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening
from voice.session.attention_word import USUAL
from voice.session.ears import Ears
from voice.session.models import SHIPPED_MODEL

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from voice.meaning.decision import Decision

OTHER_WORDS = ("captain", "the", "nurse", "okay so")
NOISE = Path(__file__).parents[2] / "audio_fixtures" / "noise"
SNR_DB = 5.0


def heard(ears: Ears, samples: NDArray[np.int16]) -> Iterator[tuple[str, Decision]]:
    """The likeliest words of each segment, and what was decided."""
    segmenter = Segmenter(SileroVad())
    quiet = np.zeros(SAMPLE_RATE, dtype=np.int16)
    block = Block(0.0, np.concatenate((quiet, samples, quiet)))
    for segment in (*segmenter.feed(block), *segmenter.flush()):
        hearing, decision = ears.make_out(segment, Listening.CONFIRMING)
        yield hearing.alternatives[0].text if hearing.alternatives else "", decision


def outcome(ears: Ears, said: str, samples: NDArray[np.int16]) -> str:
    """What became of an utterance."""
    found = list(heard(ears, samples))
    taken = [text for text, decision in found if isinstance(decision, Accept | AskBetween)]
    if taken:
        return "right" if taken == [said] else f'taken: "{", ".join(taken)}"'
    if any(isinstance(decision, NotUnderstood) for _, decision in found):
        return "not understood"
    return "passed over"


def drawn(rng: random.Random, count: int) -> list[str]:
    """Phrases of two to seven words that are no answer to a read-back."""
    grammar, found = load_grammar(), list[str]()
    while len(found) < count:
        text, _ = grammar.sample(rng, Listening.LISTENING)
        answer = load_grammar().guarded(USUAL).parse(text, LegSettings(), Listening.CONFIRMING)
        if 2 <= len(text.split()) <= 7 and not answer:
            found.append(text)
    return found


def tell(line: str) -> None:
    """Write a line at once."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def main() -> None:
    """Write a line of counts for each kind of talk."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("speech", type=Path)
    parser.add_argument("--word", default=USUAL)
    parser.add_argument("--phrases", type=int, default=14)
    parser.add_argument("--others", type=int, default=4)
    options = parser.parse_args()
    plain = load_grammar()
    ears = Ears.load(SHIPPED_MODEL, plain.guarded(options.word), LegSettings())
    noise = read_noise(NOISE, "*.ogg")
    texts = drawn(random.Random(5), options.phrases)
    for word in (options.word, "", *OTHER_WORDS):
        for snr_db in (None, SNR_DB):
            counts = Counter[str]()
            for number, text in enumerate(texts):
                said = f"{word} {text}".strip()
                samples = speak(said, list(VOICES.values())[number % len(VOICES)])
                counts[outcome(ears, said, in_noise(samples, noise, snr_db, number * 70_000))] += 1
            tell(f"{word or 'no word'}, {snr_db or 'no'} dB: {dict(counts)}")
    for name, utterances in (
        ("development voices, without the word", phrases_of_lists(options.speech, plain)),
        ("other speech", other_speech(options.speech, plain)),
    ):
        chosen: list[Utterance] = utterances[:: options.others]
        counts = Counter(outcome(ears, "", one.samples) for one in chosen)
        minutes = sum(len(one.samples) for one in chosen) / SAMPLE_RATE / 60
        tell(f"{name}, {len(chosen)} in {minutes:.1f} min: {dict(counts)}")


if __name__ == "__main__":
    main()
