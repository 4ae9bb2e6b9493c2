"""What many voices are to say for `tests.bench.opinions`, as a list for `voice.acoustics.blends`.

    python -m tests.bench.leg_lists OUT_FOLDER [--share 1.0]

writes ``leg.jsonl``: entries in the mix of a leg, every teen and ten, and phrases of the whole grammar, by speakers that are
blended for one utterance each (sets "development-..."), and by voices that no training has heard (sets "strange-...").
How many questions a nurse is asked follows from what she says, so the mix (`MIX`) is a leg's: common practice,
no source. Needs what `voice.acoustics.blend_texts` needs.
"""

from __future__ import annotations

import argparse
import json
import random
from pathlib import Path
from typing import TYPE_CHECKING

from voice.acoustics.blend_texts import with_symbols
from voice.acoustics.blends import STRANGERS
from voice.acoustics.corpus import HELD_OUT_VOICES
from voice.acoustics.synthesis import test_phrases, twin_phrases
from voice.entries.leg import LegSettings
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening
from voice.meaning.numbers import spoken_forms

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.meaning.grammar import Grammar

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
BLENDS = {"plain": 1500, "twins": 1500, "phrases": 500}
"""How much blended speakers say, each once."""
KEPT_OUT = {"plain": 30, "twins": 60}
"""How much each voice says that is kept out of training, but of a kind that is in it."""
STRANGE = {"plain": 200, "twins": 220, "phrases": 80}
"""How much each strange voice says."""
_SPEEDS = (0.85, 1.3)
_FIRST_SEED = 4_000_000
"""Of the blended speakers: no training has one of these."""


def texts(rng: random.Random, each: int) -> Iterator[str]:
    """``each`` entries in the mix of a leg."""
    ways = [(text, ranges) for _, text, ranges in MIX]
    for text, ranges in rng.choices(ways, [share for share, *_ in MIX], k=each):
        yield text.format(*(said(rng.randint(*one), rng) for one in ranges))


def said(value: int, rng: random.Random) -> str:
    """A value as it is mostly said: as a number, seldom figure by figure."""
    forms = spoken_forms(value)
    return rng.choice(forms) if rng.random() < SELDOM else forms[0]


def jobs(rng: random.Random, share: float) -> Iterator[dict[str, object]]:
    """What is said, by whom, and how."""
    grammar = load_grammar()
    kept_out = sorted(voice.removeprefix("kok_") for voice in HELD_OUT_VOICES if "kok_" in voice)
    for voices, counts, of_set in (
        (("blend",), BLENDS, "development"),
        (kept_out, KEPT_OUT, "strange"),
        (STRANGERS, STRANGE, "strange"),
    ):
        for voice in voices:
            for kind, count in counts.items():
                for text in _drawn(kind, max(1, round(share * count)), grammar, rng):
                    yield {
                        "text": text,
                        "spoken": text,
                        "voice": voice,
                        "set": f"{of_set}-{kind}",
                        "accent": rng.choice(("us", "gb")),
                        "speed": round(rng.uniform(*_SPEEDS), 2),
                    }


def _drawn(kind: str, count: int, grammar: Grammar, rng: random.Random) -> Iterator[str]:
    match kind:
        case "plain":
            drawn = list(texts(rng, count))
        case "twins":
            drawn = rng.choices(twin_phrases(grammar), k=count)
        case _:
            drawn = test_phrases(grammar, rng, count)
    for text in drawn:
        if not grammar.parse(text, LegSettings(), Listening.LISTENING):
            raise AssertionError(f"not a phrase: {text}")
        yield text


def main() -> None:
    """Draw and write."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.leg_lists", description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("--share", type=float, default=1.0, help="this share of everything")
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    rng = random.Random(chosen.seed)
    listed = list(jobs(rng, chosen.share))
    rng.shuffle(listed)  # a list that is cut short holds a fair part of all
    seeded = ({**job, "seed": _FIRST_SEED + number} for number, job in enumerate(listed))
    chosen.out.mkdir(parents=True, exist_ok=True)
    with (chosen.out / "leg.jsonl").open("w", encoding="utf-8") as file:
        file.writelines(f"{json.dumps(job)}\n" for job in with_symbols(seeded))


if __name__ == "__main__":
    main()
