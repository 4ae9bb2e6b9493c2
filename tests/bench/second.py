"""How well the second listener hears beside the first and beside its simpler rival, and what it costs.

    OPENBLAS_NUM_THREADS=1 python -m tests.bench.second --speech ../shared/acoustic/speech \
        --noise ../shared/helicopter_noise [--count 40] [--snr 10 ...] [--after 1.0 --after 2.5] [--words 60]

prints the tables of docs/second-listener.md. Phrases are those of the development voices, cut out by the
detector; a phrase that falls in two is left out. "Right": what is likeliest means what was said, whatever would
be decided. The rival is what Whisper writes freely, and the nearest of ``LISTED`` phrases by their phones: it is
given a list with what was said in it, where the grammar has 10^19 phrases.
"""

from __future__ import annotations

import argparse
import json
import random
import re
import resource
import time
from collections import defaultdict
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import soundfile
from num2words import num2words
from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from tests.bench.corpus import in_noise, phrases_of_lists, read_noise
from voice.acoustics.competitors import NUMBER_WORDS
from voice.acoustics.corpus import held_out
from voice.acoustics.lexicon import known_words
from voice.acoustics.shipped import MODEL_FOLDER
from voice.entries.heard import SAMPLE_RATE, Block, Segment
from voice.entries.leg import LegSettings
from voice.hearing.listener import VoskListener
from voice.hearing.model import UNKNOWN, AcousticModel
from voice.hearing.second import listener as second
from voice.hearing.second.listener import WhisperListener, WhisperModel
from voice.hearing.second.weights import find_weights
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import SileroVad
from voice.meaning.automaton import compile_acceptor
from voice.meaning.expression import Either, Word
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening
from voice.session import kept_acceptors

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence

    from voice.entries.heard import Hearing
    from voice.hearing.listener import Listener
    from voice.meaning.grammar import Grammar

STATE = Listening.CONFIRMING
LISTED = 5000
"""Phrases that the rival chooses from."""
Said = tuple[str, float | None, Segment]


class Rival:
    """What Whisper writes freely, and the listed phrase with the nearest phones."""

    def __init__(self, grammar: Grammar, said: Collection[str], free: Collection[str]) -> None:
        rng = random.Random(1)
        drawn = {grammar.sample(rng, STATE)[0] for _ in range(LISTED)}
        texts = sorted(drawn | set(said))
        self._lexicon = known_words(word for text in (*texts, *free) for word in _words(text))
        self._texts = {self._phones(text): text for text in texts}

    def text(self, free: str) -> str:
        """The phrase that is nearest to ``free``."""
        listed = list(self._texts)
        found = process.extractOne(
            self._phones(free), listed, scorer=Levenshtein.normalized_similarity
        )
        return self._texts[listed[found[2]]]

    def _phones(self, text: str) -> tuple[str, ...]:
        """Of words that have no known pronunciation, the letters."""
        spoken = [self._lexicon[w][0] if w in self._lexicon else tuple(w) for w in _words(text)]
        return tuple(phone for phones in spoken for phone in phones)


def _words(text: str) -> list[str]:
    """In small letters, numbers in words, and capitals letter by letter."""
    spelled = re.sub(r"\b[A-Z]{2,4}\b", lambda letters: " ".join(letters[0]), text)
    numbered = re.sub(r"\d+", lambda n: f" {num2words(int(n[0]))} ", spelled)
    return re.findall("[a-z']+", numbered.lower())


def phrases(options: argparse.Namespace, grammar: Grammar) -> Iterator[Said]:
    """What is said, at each noise: the text, the noise in dB, and the segment."""
    noise = read_noise(options.noise, options.pattern)
    listed = phrases_of_lists(options.speech, grammar)
    rng = random.Random(1)
    for snr_db in options.snr or (None, 20, 15, 10, 5, 0):
        for utterance in listed[:: max(1, len(listed) // options.count)][: options.count]:
            start = rng.randrange(len(noise))
            sound = in_noise(utterance.samples, noise, snr_db, start)
            segmenter = Segmenter(SileroVad())
            found = [*segmenter.feed(Block(0.0, sound)), *segmenter.flush()]
            if len(found) == 1:
                yield utterance.text, snr_db, found[0]


def number_words(options: argparse.Namespace) -> Iterator[Said]:
    """Single number words of people that no training holds, without noise and at 10 dB."""
    noise = read_noise(options.noise, options.pattern)
    lines = (options.speech / "human.jsonl").read_text("utf-8").splitlines()
    rows = [json.loads(line) for line in lines]
    chosen = [row for row in rows if row["text"] in NUMBER_WORDS and held_out(row)]
    rng = random.Random(1)
    for row in rng.sample(chosen, min(options.words, len(chosen))):
        samples, _ = soundfile.read(
            options.speech / row["file"], row["samples"], row["start"], dtype="int16"
        )
        for snr_db in (None, 10):
            sound = in_noise(samples, noise, snr_db, rng.randrange(len(noise)))
            yield row["text"], snr_db, Segment(0.0, sound, len(sound) / SAMPLE_RATE)


def first_phrase(hearing: Hearing) -> str:
    """The likeliest phrase, whatever leads it."""
    return next((one.text for one in hearing.alternatives if one.text != UNKNOWN), "")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.second", description=__doc__)
    parser.add_argument("--speech", type=Path, required=True, help="folder of the speech lists")
    parser.add_argument("--noise", type=Path, required=True, help="folder of helicopter recordings")
    parser.add_argument("--pattern", default="5-177957-*", help="which of the recordings")
    parser.add_argument("--count", type=int, default=131, help="phrases at each noise")
    parser.add_argument("--snr", type=float, action="append", help="noise in dB; else none to 0")
    parser.add_argument("--after", type=float, action="append", help="silence added, in s")
    parser.add_argument("--words", type=int, default=100, help="number words of people; 0: none")
    options = parser.parse_args()

    grammar = load_grammar()
    acceptor = kept_acceptors.acceptor(grammar, STATE)
    before_mb = _memory_mb()
    vosk = AcousticModel.open(MODEL_FOLDER)
    first = VoskListener(vosk, acceptor)
    first_mb = _memory_mb()
    began_s = time.process_time()
    model = WhisperModel.open(find_weights(), acceptor)
    print(f"First: {first_mb - before_mb:.0f} MB. Second: {_memory_mb() - first_mb:.0f} MB at the most, "
          f"loaded in {time.process_time() - began_s:.1f} s of processor time.")  # fmt: skip

    def means(text: str) -> set[object]:
        return set(grammar.parse(text, LegSettings(), STATE)) or {text}

    said = [one for one in phrases(options, grammar) if means(one[0]) != {one[0]}]
    for after_s in options.after or (second.AFTER_S,):
        second.AFTER_S = after_s
        print(f"\nPhrases, {after_s:g} s of silence added, in %:\n")
        table(said, first, WhisperListener(model, acceptor), model, grammar)
    if options.words:
        single = compile_acceptor(Either(tuple(Word(word) for word in NUMBER_WORDS)))
        print("\nNumber words of people:\n")
        spoken = list(number_words(options))
        table(spoken, VoskListener(vosk, single), WhisperListener(model, single), model, None)
    print(f"\nMemory with both, at the most: {_memory_mb():.0f} MB.")


def table(
    said: Sequence[Said],
    first: Listener,
    other: WhisperListener,
    model: WhisperModel,
    grammar: Grammar | None,
) -> None:
    """Print how often each is right first, and what the second takes."""

    def means(text: str) -> set[object]:
        return set(grammar.parse(text, LegSettings(), STATE)) if grammar else {text}

    right: dict[float | None, list[tuple[bool, ...]]] = defaultdict(list)
    took_s: list[float] = []
    frees: list[tuple[float | None, str, str]] = []
    for text, snr_db, segment in said:
        wanted = means(text)
        one = bool(means(first_phrase(first.hear(segment))) & wanted)
        began_s = time.process_time()
        found, free = other.search(segment)
        took_s.append(time.process_time() - began_s)
        heard = [bool(means(" ".join(phrase.words)) & wanted) for phrase in found]
        right[snr_db].append((one, any(heard[:1]), any(heard), one or any(heard[:1])))
        frees.append((snr_db, text, model.text(free.tokens)))
    rights: dict[float | None, list[bool]] = defaultdict(list)
    if grammar:
        rival = Rival(grammar, {text for _, text, _ in frees}, {free for *_, free in frees})
        for snr_db, text, written in frees:
            rights[snr_db].append(bool(means(rival.text(written)) & means(text)))
    print(
        "| speech over noise | n | first listener | second | right one in the second's list | either | rival |"
    )
    print("|---" * 7 + "|")
    for snr_db, rows in right.items():
        shares = [f"{100 * np.mean(column):.1f}" for column in zip(*rows, strict=True)]
        shares.append(f"{100 * np.mean(rights[snr_db]):.1f}" if rights[snr_db] else "")
        name = "no noise" if snr_db is None else f"{snr_db:g} dB"
        print(f"| {name} | {len(rows)} | {' | '.join(shares)} |", flush=True)
    print(f"\nProcessor time of the second: median {np.median(took_s):.2f}, 95 % "
          f"{np.percentile(took_s, 95):.2f}, greatest {max(took_s):.2f} s.", flush=True)  # fmt: skip


def _memory_mb() -> float:
    """The most that the process has taken."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    main()
