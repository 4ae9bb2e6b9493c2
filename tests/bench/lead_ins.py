"""What becomes of an entry behind a lead-in ("okay"), behind other words, and of talk that begins with "okay".

    python -m tests.bench.lead_ins [--every 1] [--before]

Each entry is spoken by five synthesisers behind each word, without noise and in helicopter at 5 dB; ``--every`` takes
every so many of these, ``--before`` hears without lead-ins. It listens as while a read-back waits, when most is legal.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import tempfile
from collections import Counter
from itertools import product
from pathlib import Path

from tests.bench.__main__ import ORDER, SETTINGS, STATE, outcome
from tests.bench.attention import NOISE
from tests.bench.corpus import VOICES, in_noise, read_noise, speak
from voice.entries.heard import Block
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import SileroVad
from voice.meaning.grammar import GRAMMAR_FOLDER, Grammar, load_grammar
from voice.session.ears import Ears
from voice.session.models import SHIPPED_MODEL

ENTRIES = (
    "pressure fourteen", "pressure fifteen", "drained six mils", "drain clamped", "drain open",
    "heart rate eighty eight", "pupils four reactive", "fentanyl fifty micrograms",
    "temperature thirty eight", "sodium one forty two", "head of bed thirty", "drain level ten",
)  # fmt: skip
LEAD_INS = ("okay", "okay so")
OTHER_WORDS = (
    "hockey",
    "toe clay",
    "away",
    "one kay",
    "Oslo",
    "hello",
    "today",
    "come on",
    "not",
    "is the",
)
TALK = (
    "okay", "okay so", "okay let's go", "okay we're ready", "okay okay", "okay confirm", "okay confirmed",
    "okay the pressure is high", "okay come on", "okay what's the heart rate", "okay roger that",
    "okay fifteen minutes to go", "okay copy fourteen", "okay I'll clamp it later", "okay hold on",
)  # fmt: skip
SNRS_DB = (None, 5.0)


def without_lead_ins() -> Grammar:
    """The shipped phrases but for the lead-ins."""
    with tempfile.TemporaryDirectory() as folder:
        grammar = Path(folder) / "grammar"
        shutil.copytree(GRAMMAR_FOLDER, grammar)
        file = grammar / "talk.toml"
        tables = file.read_text("utf-8").split("[[phrase]]")
        file.write_text(
            "[[phrase]]".join(t for t in tables if "\nlead_in = true" not in t), "utf-8"
        )
        return load_grammar(grammar)


def main() -> None:
    """Write a line of counts for each kind of talk and each noise."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--every", type=int, default=1)
    parser.add_argument("--before", action="store_true")
    options = parser.parse_args()
    grammar = without_lead_ins() if options.before else load_grammar()
    ears = Ears.load(SHIPPED_MODEL, grammar, SETTINGS)
    noise = read_noise(NOISE, "*.ogg")
    for kind, said in (
        ("behind a lead-in", product(LEAD_INS, ENTRIES, VOICES)),
        ("behind other words", product(OTHER_WORDS, ENTRIES, VOICES)),
        ("talk", product(TALK, ("",), VOICES)),
    ):
        counts: dict[float | None, Counter[str]] = {snr_db: Counter() for snr_db in SNRS_DB}
        for number, (before, entry, voice) in enumerate([*said][:: options.every]):
            samples = speak(f"{before} {entry}".strip(), VOICES[voice])
            wanted = set(grammar.parse(entry, SETTINGS, STATE))
            for snr_db in SNRS_DB:
                sound = in_noise(samples, noise, snr_db, number * 70_000)
                segmenter = Segmenter(SileroVad())
                segments = (*segmenter.feed(Block(0.0, sound)), *segmenter.flush())
                found = [outcome(ears.make_out(one, STATE)[1], wanted) for one in segments]
                counts[snr_db][min(found, key=ORDER.index, default="not heard")] += 1
        for snr_db, count in counts.items():
            sys.stdout.write(f"{kind}, {snr_db or 'no'} dB: {dict(count)}\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
