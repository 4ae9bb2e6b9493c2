"""Entries in the mix of a leg, spoken by voices that no training has heard.

    python -m tests.bench.plain_leg OUT_FOLDER [--each 40] [--seed 1]

writes ``plain-000.opus`` with ``plain.jsonl`` for `tests.bench.opinions`. The tests of `voice.acoustics.synthesis` draw every
phrase of the grammar alike, or teens and tens alone; how many questions a nurse is asked follows from what she
says. Needs what those tests need. The mix (`MIX`) is common practice, no source.
"""

from __future__ import annotations

import argparse
import random
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from voice.acoustics import strangers
from voice.acoustics.synthesis import spelled, write_bundles
from voice.entries.leg import LegSettings
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening
from voice.meaning.numbers import spoken_forms

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

MIX: tuple[tuple[float, str, tuple[tuple[int, int], ...]], ...] = (
    (18, "pressure {}", ((4, 28),)),
    (4, "mean pressure {}", ((60, 110),)),
    (8, "blood pressure {} over {}", ((95, 175), (50, 95))),
    (8, "heart rate {}", ((48, 125),)),
    (6, "oxygen {}", ((91, 100),)),
    (4, "respirations {}", ((10, 24),)),
    (4, "carbon dioxide {}", ((30, 42),)),
    (3, "temperature {} point {}", ((35, 38), (1, 9))),
    (6, "drained {} mils", ((1, 30),)),
    (3, "chamber at {}", ((1, 60),)),
    (5, "drain level {}", ((0, 20),)),
    (2, "head of bed {}", ((15, 45),)),
    (3, "drain open", ()),
    (2, "drain clamped", ()),
    (2, "clamped for transfer", ()),
    (2, "drain zeroed", ()),
    (2, "drain leveled", ()),
    (2, "fluid clear", ()),
    (2, "pupils equal and brisk", ()),
    (1, "emptied chamber", ()),
    (1, "patient on board", ()),
    (2, "eyes {} verbal {} motor {}", ((1, 4), (1, 5), (1, 6))),
    (2, "propofol {} milligrams", ((10, 60),)),
    (2, "fentanyl {} micrograms", ((25, 100),)),
    (1, "mannitol {} grams", ((25, 100),)),
    (1, "bag half full", ()),
    (1, "head midline", ()),
)  # fmt: skip
"""How often, what is said, and from where to where its values go, each as likely as the others."""
SELDOM = 0.25


def texts(rng: random.Random, each: int) -> Iterator[str]:
    """``each`` entries in the mix of a leg."""
    ways = [(text, ranges) for _, text, ranges in MIX]
    for text, ranges in rng.choices(ways, [share for share, *_ in MIX], k=each):
        yield text.format(*(said(rng.randint(*one), rng) for one in ranges))


def said(value: int, rng: random.Random) -> str:
    """A value as it is mostly said: as a number, seldom figure by figure."""
    forms = spoken_forms(value)
    return rng.choice(forms) if rng.random() < SELDOM else forms[0]


def main() -> None:
    """Draw, speak, write."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.plain_leg", description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("--each", type=int, default=40, help="entries for each voice")
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    rng = random.Random(chosen.seed)
    grammar = load_grammar()
    jobs = [(voice, text) for voice in strangers.VOICES for text in texts(rng, chosen.each)]
    rng.shuffle(jobs)
    speakers = strangers.speakers()
    items: list[tuple[dict[str, object], NDArray[np.float64]]] = []
    for voice, text in jobs:
        if not grammar.parse(text, LegSettings(), Listening.LISTENING):
            raise AssertionError(f"not a phrase: {text}")
        samples = speakers[voice](spelled(text), rng.uniform(0.85, 1.3))
        described: dict[str, object] = {
            "text": text,
            "voice": voice,
            "set": "strange-plain",
            "licence": "made here",
        }
        items.append((described, samples / max(1e-9, float(np.abs(samples).max())) * 0.7))
    write_bundles(chosen.out, "plain", items)


if __name__ == "__main__":
    main()
