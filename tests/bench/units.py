"""What becomes of drugs that are said in a thousandth or a thousand of the unit in which they are given.

    python -m tests.bench.units [--each 2]

Doses and infusions of the shipped list, drawn with a fixed seed, are spoken by synthesisers in the unit of the
list and in one a thousandfold from it, without noise and in helicopter, and heard as ever. Counted is whether an
entry was kept as it was said, kept otherwise, refused aloud, asked about, or not understood.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from tests.bench.attention import NOISE, heard
from tests.bench.corpus import VOICES, in_noise, read_noise, speak
from voice.entries.leg import LegSettings
from voice.entries.said import Statement
from voice.meaning.decision import Accept, AskBetween
from voice.meaning.grammar import load_grammar
from voice.session.ears import Ears
from voice.session.models import SHIPPED_MODEL

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy as np
    from numpy.typing import NDArray

    from voice.meaning.grammar import Grammar

SETTINGS = LegSettings()
SAID = {"mcg": "micrograms", "mg": "milligrams", "g": "grams"}
DOSES = ("five", "ten", "fifteen", "fifty", "one hundred")


def phrases(grammar: Grammar, rng: random.Random, each: int) -> Iterator[tuple[bool, str]]:
    """Doses and infusions, and whether each is in a unit of its list."""
    for name, drug in grammar.drugs.items():
        for giving, units in (("gave", drug.bolus), ("started", drug.rate)):
            for unit in units:
                mass, *per = unit.split("/")
                if mass not in SAID or per[:1] == ["kg"]:
                    continue
                words = {"h": " per hour", "min": " per minute"}[per[0]] if per else ""
                for one, word in SAID.items():
                    said = (drug.said or name).split(" | ")[0]
                    text = f"{giving} {said} {rng.choice(DOSES)} {word}{words}"
                    right = (f"{one}/{per[0]}" if per else one) in units
                    if rng.random() < each / 10:
                        yield right, text


def outcome(ears: Ears, grammar: Grammar, text: str, sound: NDArray[np.int16]) -> str:
    """What became of one phrase."""
    found = list(heard(ears, sound))
    for words, decision in found:
        match decision:
            case Accept(heard=one):
                assert isinstance(one.meaning, Statement)
                if grammar.refusal(one.meaning.entry, SETTINGS):
                    return "refused aloud" if words == text else "refused, misheard"
                return "kept as said" if words == text else "kept otherwise"
            case AskBetween(first=first, second=second):
                return "asked" if text in {first.text, second.text} else "asked wrongly"
    return "not understood"


def main() -> None:
    """Hear all and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", type=int, default=2)
    options = parser.parse_args()
    grammar = load_grammar()
    ears = Ears.load(SHIPPED_MODEL, grammar, SETTINGS)
    noise = read_noise(Path(NOISE), "*.ogg")
    said = list(phrases(grammar, random.Random(3), options.each))
    voices = list(VOICES.values())
    sounds = [speak(text, voices[n % len(voices)]) for n, (_, text) in enumerate(said)]
    for right in (True, False):
        for snr_db in (None, 10.0, 0.0):
            counts = Counter(
                outcome(ears, grammar, text, in_noise(sound, noise, snr_db, n * 70_000))
                for n, ((fits, text), sound) in enumerate(zip(said, sounds, strict=True))
                if fits is right
            )
            name = "in its unit" if right else "a thousandfold"
            sys.stdout.write(f"{name}, {snr_db} dB: {dict(counts)}\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
