"""Measure acoustic models side by side, on speech and noise that are in no training.

    python -m voice.acoustics.evaluate MODEL_FOLDER... --speech SPEECH_FOLDER --tests TESTS_FOLDER
        --noise NOISE_FOLDER [--json RESULTS]

prints a table for each kind of test. SPEECH_FOLDER is ``../shared/acoustic/speech``, TESTS_FOLDER
what `voice.acoustics.synthesis` speaks with ``--tests``. Only what `voice.acoustics.corpus` holds
out is heard. Every model hears the same sounds, bit for bit. The tests whose names begin with
"strange" are of voices that no model has heard, and they are the ones to believe. Those of
"development" (`voice.acoustics.blend_texts`) are to choose between models by, and are not asked for unless named.
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
from voice.acoustics.lexicon import vocabulary
from voice.acoustics.sounds import level, segments, stretch
from voice.entries.heard import Segment
from voice.entries.leg import LegSettings
from voice.hearing.listener import VoskListener
from voice.hearing.model import AcousticModel
from voice.meaning.automaton import compile_acceptor
from voice.meaning.decide import UNKNOWN_WORD, decide
from voice.meaning.decision import Accept, AskBetween, NotForUs, NotUnderstood
from voice.meaning.expression import Either, Row, Word
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening
from voice.session.patience import patience_s

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from collections.abc import Set as AbstractSet

    from numpy.typing import NDArray

    from voice.acoustics.corpus import Utterance
    from voice.entries.heard import Hearing
    from voice.entries.said import Meaning
    from voice.meaning.acceptor import Acceptor

SNRS_DB: tuple[float | None, ...] = (None, 20, 15, 10, 5, 0)
"""Speech against noise, both by their power over the whole sound; ``None``: no noise."""
_LEVEL = 3000.0
"""Root mean square of the speech, of 32768: -21 dBFS."""
DEVELOPMENT = ("development phrases", "development twins")
OF_THE_LEG = ("phrases", "twins", "strange phrases", "strange twins", *DEVELOPMENT)
WORDS = ("words", "strange words")
TALK = ("no command", "strange talk")
TESTS = (*OF_THE_LEG, *WORDS, "other voices", *TALK)
"""Phrases of the grammar of a leg; single number words; voices with texts of their own; talk that is
no command."""
_AROUND_S = 1.0
"""Noise alone before and after the speech, so that the detector meets its beginning and its end."""
_SWELL_S = 0.4


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
    """What a model made of one case, and what was decided on it."""

    test: str
    voice: str
    snr_db: float | None
    said: str | None
    alternatives: list[tuple[str, float]]
    first_right: bool
    """Whether the likeliest phrase means what was said, whatever was decided."""
    decision: str
    """``right``, ``wrong``, ``asked`` (between two, what was said among them), ``asked wrongly``,
    ``not understood`` or ``not for us``; of a sound that falls into several segments, the worst."""
    computing_s: float
    length_s: float


def mixed(
    speech: NDArray[np.int16], noise: NDArray[np.float32], snr_db: float | None, rng: random.Random
) -> NDArray[np.int16]:
    """Speech at a set level, with a little time around it, in noise."""
    around = np.zeros(int(_AROUND_S * SAMPLE_RATE))
    loud = speech / (level(speech) + 1e-9)
    sound = np.concatenate([around, loud, around])
    if snr_db is not None:
        # a sudden start would pass for speech
        swell = np.minimum(1.0, np.arange(len(sound)) / (_SWELL_S * SAMPLE_RATE))
        sound = sound + swell * stretch(noise, len(sound), rng) * 10 ** (-snr_db / 20)
    return (sound * _LEVEL).clip(-32768, 32767).astype(np.int16)


# --- the tests ---------------------------------------------------------------------------------


def grammar_of(test: str, speech: Corpus) -> Acceptor:
    """The phrases that may be heard in a test."""
    if test in OF_THE_LEG or test in TALK:
        return load_grammar().acceptor(Listening.LISTENING)
    if test in WORDS:
        return compile_acceptor(Either(tuple(Word(word) for word in NUMBER_WORDS)))
    texts = sorted({u.text for u in of_test(test, speech)})
    return compile_acceptor(Either(tuple(Row(tuple(map(Word, t.split()))) for t in texts)))


def of_test(test: str, speech: Corpus) -> list[Utterance]:
    """The utterances of a test, in a fixed order."""
    chosen = [u for u in speech.utterances if u.held_out and _belongs(test, u)]
    if test in OF_THE_LEG:  # the grammar may have changed since they were spoken
        chosen = [u for u in chosen if u.text not in _meanings(u.text)]
    if test == "other voices":
        known = set(vocabulary())
        chosen = [u for u in chosen if known.issuperset(u.text.split())]
    return sorted(chosen, key=lambda u: (u.voice, u.text, u.start))


def _belongs(test: str, u: Utterance) -> bool:
    match test:
        case "phrases" | "twins":
            return u.set == f"test-{test}"
        case (
            "strange phrases"
            | "strange twins"
            | "strange words"
            | "development phrases"
            | "development twins"
        ):
            return u.set == test.replace(" ", "-")
        case "strange talk":
            return u.set.startswith("strange-talk")
        case "words":
            return u.set.startswith(("human-fsdd", "human-speech")) and u.text in NUMBER_WORDS
        case "other voices":
            return u.voice.startswith("kok") and u.set == "synthetic-neural"
        case "no command":
            long = u.set.startswith(("human-librispeech", "human-wuw2"))
            return long or u.set == "human-wakeword"
    raise ValueError(test)


def cases(
    test: str,
    speech: Corpus,
    noise: NDArray[np.float32],
    most: int,
    snrs_db: Sequence[float | None] = SNRS_DB,
) -> Iterable[Case]:
    """All sounds of a test."""
    rng = random.Random(test)
    utterances = of_test(test, speech)
    if len(utterances) > most:
        utterances = rng.sample(utterances, most)
    for u in utterances:
        sound = speech.sound_of(u)
        if test in TALK:
            yield Case(test, u.set, None, None, mixed(sound, noise, None, rng))
        else:
            voice = u.set.split("-")[1].split("_")[0] if test == "words" else u.voice
            for snr in (None, 10.0) if test in WORDS else snrs_db:
                yield Case(test, voice, u.text, snr, mixed(sound, noise, snr, rng))


# --- hearing -----------------------------------------------------------------------------------


_ACCEPTORS: dict[str, Acceptor] = {}
"""The grammar of each test; child processes inherit it."""


@cache
def _listener(model: Path, test: str) -> VoskListener:
    return VoskListener(AcousticModel.open(model), _ACCEPTORS[test])


def _meanings(text: str) -> AbstractSet[Meaning | str]:
    """What a text means; the text itself where it is no phrase of the grammar."""
    return frozenset(load_grammar().parse(text, LegSettings(), Listening.LISTENING)) or {text}


def _outcome(model: Path, case: Case) -> Outcome:
    listener = _listener(model, case.test)
    said: AbstractSet[Meaning | str] = set() if case.said is None else _meanings(case.said)
    started = time.process_time()
    heard = _heard(listener, case.sound, patient=case.test in (*OF_THE_LEG, *TALK))
    computing_s = time.process_time() - started
    decided = [(_decision(hearing, said, cut=cut), hearing.alternatives) for hearing, cut in heard]
    decision, alternatives = min(
        decided, key=lambda one: WORST_FIRST.index(one[0]), default=("not for us", ())
    )
    firsts = [
        next((a.text for a in hearing.alternatives if a.text != UNKNOWN_WORD), "")
        for hearing, _ in heard
    ]
    return Outcome(
        test=case.test,
        voice=case.voice,
        snr_db=case.snr_db,
        said=case.said,
        alternatives=[(a.text, round(a.score, 2)) for a in alternatives],
        first_right=any(not said.isdisjoint(_meanings(first)) for first in firsts if first),
        decision=decision,
        computing_s=computing_s,
        length_s=len(case.sound) / SAMPLE_RATE,
    )


def _heard(
    listener: VoskListener, sound: NDArray[np.int16], *, patient: bool
) -> list[tuple[Hearing, bool]]:
    """What is heard in each segment that the detector cuts out, and whether its end was cut off.

    With ``patient`` what was heard so far tells how long a pause is, as on a leg (`voice.session.patience`).
    """
    last: list[tuple[Segment, Hearing]] = []

    def hear(segment: Segment) -> Hearing:
        if not last or last[0][0] is not segment:
            last[:] = [(segment, listener.hear(segment))]
        return last[0][1]

    def pause_s(segment: Segment) -> float:
        hearing, grammar = hear(segment), load_grammar()
        decision = decide(hearing, grammar, Listening.LISTENING, LegSettings(), cut=segment.cut)
        return patience_s(hearing, decision, grammar, Listening.LISTENING)

    cut = segments(sound, pause_s if patient else None)
    return [(hear(segment), segment.cut) for segment in cut]


def _decision(hearing: Hearing, said: AbstractSet[Meaning | str], *, cut: bool) -> str:
    match decide(hearing, load_grammar(), Listening.LISTENING, LegSettings(), cut=cut):
        case Accept(heard=heard):
            return "right" if heard.meaning in said else "wrong"
        case AskBetween(first=first, second=second):
            return "asked" if {first.meaning, second.meaning} & said else "asked wrongly"
        case NotUnderstood():
            return "not understood"
        case NotForUs():
            return "not for us"


def measure(model: Path, heard: Sequence[Case], processes: int = 2) -> list[Outcome]:
    """Let a model hear every case."""
    with ProcessPoolExecutor(processes) as pool:
        return list(pool.map(partial(_outcome, model), heard, chunksize=20))


def loading(model: Path) -> tuple[float, float]:
    """Seconds to load a model with the grammar of a leg, and the memory (MB) that it takes."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    started = time.perf_counter()
    listener = VoskListener(AcousticModel.open(model), load_grammar().acceptor(Listening.LISTENING))
    taken = time.perf_counter() - started
    silence = np.zeros(SAMPLE_RATE, np.int16)
    listener.hear(Segment(start_s=0.0, samples=silence, speech_end_s=1.0))
    return taken, (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024


# --- tables ------------------------------------------------------------------------------------


WORST_FIRST = ("wrong", "asked wrongly", "right", "asked", "not understood", "not for us")
DECISIONS = ("right", "wrong", "asked", "asked wrongly", "not understood", "not for us")


def table(outcomes: Sequence[Outcome], by: str, decisions: Sequence[str] = DECISIONS) -> list[str]:
    """Lines of a Markdown table: what was decided, in percent, by voice and noise."""
    groups: dict[tuple[str, str], list[Outcome]] = defaultdict(list)
    for o in outcomes:
        noise = "clean" if o.snr_db is None else f"{o.snr_db:g} dB"
        groups[o.voice if by == "voice" else "all", noise].append(o)
    columns = ["voice", "noise", "n", "first is right", *decisions]
    lines = ["| " + " | ".join(columns) + " |", "|---" * len(columns) + "|"]
    for (voice, noise), group in groups.items():
        counts = [sum(o.first_right for o in group)]
        counts += [sum(o.decision == decision for o in group) for decision in decisions]
        shares = " | ".join(f"{100 * count / len(group):.1f}" for count in counts)
        lines.append(f"| {voice} | {noise} | {len(group)} | {shares} |")
    return lines


_ACTED_ON = {"right", "wrong", "asked", "asked wrongly"}


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("models", type=Path, nargs="+")
    parser.add_argument("--speech", type=Path, required=True)
    parser.add_argument("--tests", type=Path, required=True, help="folder of the spoken tests")
    parser.add_argument("--noise", type=Path, required=True)
    parser.add_argument("--only", choices=TESTS, action="append", help="these tests only")
    parser.add_argument("--snr", type=float, action="append", help="noise (dB); else none to 0 dB")
    parser.add_argument("--most", type=int, default=1000, help="utterances of a test")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--json", type=Path, help="write every outcome here")
    arguments = parser.parse_args()

    speech = Corpus.read([arguments.speech, arguments.tests])
    noise = corpus.read_noise(arguments.noise, held_out=True)
    kept = []
    tests = arguments.only or [test for test in TESTS if test not in DEVELOPMENT]
    _ACCEPTORS.update({test: grammar_of(test, speech) for test in tests})
    for test in tests:
        heard = list(cases(test, speech, noise, arguments.most, arguments.snr or SNRS_DB))
        for model in arguments.models:
            outcomes = measure(model, heard, arguments.processes)
            kept += [{"model": str(model), **asdict(o)} for o in outcomes]
            factor = sum(o.computing_s for o in outcomes) / sum(o.length_s for o in outcomes)
            print(f"\n### {test}: {model}\n")
            if test in TALK:
                accepted = [
                    (o.voice, o.decision, o.alternatives[0])
                    for o in outcomes
                    if o.decision in _ACTED_ON
                ]
                minutes = sum(o.length_s - 2 * _AROUND_S for o in outcomes) / 60
                beeps = sum(o.decision == "not understood" for o in outcomes)
                print(f"{len(accepted)} accepted in {minutes:.1f} min: {accepted}")
                print(f"{beeps} of {len(outcomes)} not understood")
            else:
                # the decision knows the grammar of a leg only
                decisions = DECISIONS if test in OF_THE_LEG else ()
                print("\n".join(table(outcomes, "noise", decisions)))
                if test != "other voices":
                    print("\n".join(["", *table(outcomes, "voice", decisions)]))
            print(f"\nreal-time factor {factor:.3f}", flush=True)
    if set(OF_THE_LEG) & _ACCEPTORS.keys():
        for model in arguments.models:
            seconds, megabytes = loading(model)
            print(f"{model}: loads in {seconds:.2f} s, takes {megabytes:.0f} MB more")
    if arguments.json:
        arguments.json.write_text("\n".join(map(json.dumps, kept)) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
