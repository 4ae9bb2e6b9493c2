"""Measure acoustic models side by side, on speech and noise that are in no training.

    python -m voice.acoustics.evaluate MODEL_FOLDER... --speech SPEECH_FOLDER --tests TESTS_FOLDER
        --noise NOISE_FOLDER [--json RESULTS]

prints a table for each kind of test. SPEECH_FOLDER is ``../shared/acoustic/speech``, TESTS_FOLDER
what `voice.acoustics.synthesis` speaks with ``--tests``. Only what `voice.acoustics.corpus` holds
out is heard. Every model hears the same sounds, bit for bit.
"""

from __future__ import annotations

import argparse
import json
import random
import resource
import time
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from voice.acoustics import corpus
from voice.acoustics.competitors import NUMBER_WORDS
from voice.acoustics.corpus import SAMPLE_RATE, Corpus
from voice.entries.heard import Segment
from voice.entries.leg import LegSettings
from voice.hearing.listener import UNKNOWN_COST, VoskListener
from voice.meaning.automaton import compile_acceptor
from voice.meaning.expression import Either, Row, Word
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from collections.abc import Set as AbstractSet

    from numpy.typing import NDArray

    from voice.acoustics.corpus import Utterance
    from voice.entries.said import Meaning
    from voice.meaning.acceptor import Acceptor

SNRS_DB: tuple[float | None, ...] = (None, 20, 15, 10, 5, 0)
"""Speech against noise, both by their power over the whole sound; ``None``: no noise."""
MARGIN = 3.0
"""A reading less than this (nats) behind the first one would be asked about, not passed over."""
_LEVEL = 3000.0
"""Root mean square of the speech, of 32768: -21 dBFS."""
_AROUND_S = 0.3
_LONGEST_S = 8.0
"""Longer speech is cut, as the segmenter does."""


@dataclass(frozen=True, slots=True)
class Case:
    """One sound to be heard, and what was said; ``said`` is ``None`` for what is no command."""

    test: str
    voice: str
    said: str | None
    snr_db: float | None
    sound: NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a model made of one case."""

    test: str
    voice: str
    snr_db: float | None
    said: str | None
    heard: str
    right: bool
    wrong: bool
    """A legal phrase that means something else, or any legal phrase for what is no command."""
    asked: bool
    """Another meaning is within the margin."""
    computing_s: float
    length_s: float


def mixed(
    speech: NDArray[np.int16], noise: NDArray[np.float32], snr_db: float | None, rng: random.Random
) -> NDArray[np.int16]:
    """Speech at a set level, with a little time around it, in noise."""
    around = np.zeros(int(_AROUND_S * SAMPLE_RATE))
    loud = speech / (np.sqrt(np.mean(speech.astype(np.float64) ** 2)) + 1e-9)
    sound = np.concatenate([around, loud, around])
    if snr_db is not None:
        first = rng.randrange(len(noise) - len(sound))
        sound = sound + noise[first : first + len(sound)] * 10 ** (-snr_db / 20)
    return (sound * _LEVEL).clip(-32768, 32767).astype(np.int16)


# --- the tests ---------------------------------------------------------------------------------


def grammar_of(test: str, speech: Corpus) -> Acceptor:
    """The phrases that may be heard in a test."""
    if test in {"phrases", "twins", "no command"}:
        return load_grammar().acceptor(Listening.LISTENING)
    if test == "words":
        return compile_acceptor(Either(tuple(Word(word) for word in NUMBER_WORDS)))
    texts = sorted({u.text for u in of_test(test, speech)})
    return compile_acceptor(Either(tuple(Row(tuple(map(Word, t.split()))) for t in texts)))


def of_test(test: str, speech: Corpus) -> list[Utterance]:
    """The utterances of a test, in a fixed order."""
    chosen = [u for u in speech.utterances if u.held_out and _belongs(test, u)]
    return sorted(chosen, key=lambda u: (u.voice, u.text, u.start))


def _belongs(test: str, u: Utterance) -> bool:
    match test:
        case "phrases" | "twins":
            return u.set == f"test-{test}"
        case "words":
            return u.set.startswith(("human-fsdd", "human-speech")) and u.text in NUMBER_WORDS
        case "other voices":
            return u.voice.startswith("kok") and u.set == "synthetic-neural"
        case "no command":
            long = u.set.startswith(("human-librispeech", "human-wuw2"))
            return long or u.set == "human-wakeword"
    raise ValueError(test)


def cases(test: str, speech: Corpus, noise: NDArray[np.float32], most: int) -> Iterable[Case]:
    """All sounds of a test."""
    rng = random.Random(test)
    utterances = of_test(test, speech)
    if len(utterances) > most:
        utterances = rng.sample(utterances, most)
    for u in utterances:
        sound = speech.sound_of(u)
        if test == "no command":
            step = int(_LONGEST_S * SAMPLE_RATE)
            for first in range(0, len(sound), step):
                yield Case(
                    test, u.set, None, None, mixed(sound[first : first + step], noise, None, rng)
                )
        else:
            snrs = (None, 10.0) if test == "words" else SNRS_DB
            for snr in snrs:
                voice = u.set.split("-")[1].split("_")[0] if test == "words" else u.voice
                yield Case(
                    test, voice.replace("kok_", ""), u.text, snr, mixed(sound, noise, snr, rng)
                )


# --- hearing -----------------------------------------------------------------------------------


@cache
def _listener(model: Path, acceptor_key: str, unknown_cost: float) -> VoskListener:
    return VoskListener(model, _ACCEPTORS[acceptor_key], unknown_cost=unknown_cost)


_ACCEPTORS: dict[str, Acceptor] = {}


def _meanings(text: str) -> AbstractSet[Meaning | str]:
    """What a text means; the text itself where it is no phrase of the grammar."""
    return frozenset(load_grammar().parse(text, LegSettings(), Listening.LISTENING)) or {text}


def _outcome(model: Path, unknown_cost: float, case: Case) -> Outcome:
    listener = _listener(model, case.test, unknown_cost)
    segment = Segment(start_s=0.0, samples=case.sound, speech_end_s=len(case.sound) / SAMPLE_RATE)
    started = time.process_time()
    alternatives = listener.hear(segment).alternatives
    computing_s = time.process_time() - started
    heard = alternatives[0].text if alternatives else ""
    legal = bool(heard) and "[unk]" not in heard
    meant = _meanings(heard)
    right = legal and case.said is not None and not meant.isdisjoint(_meanings(case.said))
    rival = next((a for a in alternatives[1:] if meant.isdisjoint(_meanings(a.text))), None)
    return Outcome(
        test=case.test,
        voice=case.voice,
        snr_db=case.snr_db,
        said=case.said,
        heard=heard,
        right=right,
        wrong=legal and not right,
        asked=rival is not None and alternatives[0].score - rival.score < MARGIN,
        computing_s=computing_s,
        length_s=len(case.sound) / SAMPLE_RATE,
    )


def measure(
    model: Path, heard: Sequence[Case], unknown_cost: float = UNKNOWN_COST, processes: int = 2
) -> list[Outcome]:
    """Let a model hear every case. `_ACCEPTORS` must hold the grammars; children inherit them."""
    with ProcessPoolExecutor(processes) as pool:
        work = partial(_outcome, model, unknown_cost)
        return list(pool.map(work, heard, chunksize=20))


def loading(model: Path) -> tuple[float, float]:
    """Seconds to load a model with the grammar of a leg, and the memory (MB) that it takes."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    started = time.perf_counter()
    listener = VoskListener(model, _ACCEPTORS["phrases"])
    taken = time.perf_counter() - started
    silence = np.zeros(SAMPLE_RATE, np.int16)
    listener.hear(Segment(start_s=0.0, samples=silence, speech_end_s=1.0))
    return taken, (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024


# --- tables ------------------------------------------------------------------------------------


def table(outcomes: Sequence[Outcome], by: str) -> list[str]:
    """Lines of a Markdown table: right, wrong, wrong and not asked, by voice or by noise."""
    groups: dict[tuple[str, str], list[Outcome]] = defaultdict(list)
    for o in outcomes:
        noise = "clean" if o.snr_db is None else f"{o.snr_db:g} dB"
        groups[o.voice if by == "voice" else "all", noise].append(o)
    lines = ["| voice | noise | n | right % | wrong % | wrong, not asked % | asked % |"]
    lines.append("|---|---|---|---|---|---|---|")
    for (voice, noise), group in groups.items():
        n = len(group)
        counts = (
            sum(o.right for o in group),
            sum(o.wrong for o in group),
            sum(o.wrong and not o.asked for o in group),
            sum(o.asked for o in group),
        )
        shares = " | ".join(f"{100 * count / n:.1f}" for count in counts)
        lines.append(f"| {voice} | {noise} | {n} | {shares} |")
    return lines


TESTS = ("phrases", "twins", "other voices", "words", "no command")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("models", type=Path, nargs="+")
    parser.add_argument("--speech", type=Path, required=True)
    parser.add_argument("--tests", type=Path, required=True, help="folder of the spoken tests")
    parser.add_argument("--noise", type=Path, required=True)
    parser.add_argument("--only", choices=TESTS, action="append", help="these tests only")
    parser.add_argument("--most", type=int, default=1000, help="utterances of a test")
    parser.add_argument("--unknown-cost", type=float, default=UNKNOWN_COST)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--json", type=Path, help="write every outcome here")
    arguments = parser.parse_args()

    speech = Corpus.read([arguments.speech, arguments.tests])
    noise = corpus.read_noise(arguments.noise, held_out=True)
    kept = []
    tests = arguments.only or TESTS
    _ACCEPTORS.update({test: grammar_of(test, speech) for test in tests})
    for test in tests:
        heard = list(cases(test, speech, noise, arguments.most))
        for model in arguments.models:
            outcomes = measure(model, heard, arguments.unknown_cost, arguments.processes)
            kept += [{"model": str(model), **asdict(o)} for o in outcomes]
            factor = sum(o.computing_s for o in outcomes) / sum(o.length_s for o in outcomes)
            print(f"\n### {test}: {model}\n")
            if test == "no command":
                accepted = [o.heard for o in outcomes if o.wrong]
                minutes = sum(o.length_s for o in outcomes) / 60
                print(f"{len(accepted)} accepted in {minutes:.1f} min: {accepted}")
            else:
                print("\n".join(table(outcomes, "noise")))
                if test != "other voices":
                    print("\n".join(["", *table(outcomes, "voice")]))
            print(f"\nreal-time factor {factor:.3f}", flush=True)
    if "phrases" in tests:
        for model in arguments.models:
            seconds, megabytes = loading(model)
            print(f"{model}: loads in {seconds:.2f} s, takes {megabytes:.0f} MB more")
    if arguments.json:
        arguments.json.write_text("\n".join(map(json.dumps, kept)) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
