"""Runs the bench and prints its tables; see the package."""

from __future__ import annotations

import argparse
import random
import resource
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from tests.bench.corpus import (
    in_noise,
    other_speech,
    phrases_drawn,
    phrases_of_lists,
    read_noise,
    words_of_talk,
)
from tests.bench.systems import PocketSphinx, VoskPhraseList
from voice.acoustics.shipped import MODEL_FOLDER
from voice.entries.heard import SAMPLE_RATE, Block
from voice.entries.leg import LegSettings
from voice.hearing.segmenter import HANGOVER_S, Segmenter
from voice.hearing.vad import SileroVad
from voice.meaning.decision import Accept, AskBetween, NotForUs
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening
from voice.session.ears import Ears
from voice.session.models import SHIPPED_MODEL

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from tests.bench.corpus import Utterance
    from tests.bench.systems import Rival
    from voice.entries.heard import Segment
    from voice.entries.said import Meaning
    from voice.meaning.decision import Decision
    from voice.meaning.grammar import Grammar

SETTINGS = LegSettings()
STATE = Listening.CONFIRMING
"""The largest of the small grammars: all entries, and all words of the talk but the choosing."""


@dataclass
class Timing:
    """What hearing took, in processor seconds."""

    sound_s: float = 0.0
    detector_s: float = 0.0
    segments_s: list[float] = field(default_factory=list)


class Bench:
    """legbook's hearing and its rivals, all loaded."""

    def __init__(self, grammar: Grammar, rivals: Sequence[Rival]) -> None:
        self.grammar = grammar
        self.rivals = rivals
        self.ears = Ears.load(SHIPPED_MODEL, grammar, SETTINGS)
        self.timing = Timing()

    def segments(self, sound: NDArray[np.int16]) -> list[Segment]:
        """What the detector cuts out of ``sound``."""
        segmenter = Segmenter(SileroVad())
        began = time.process_time()
        found = [*segmenter.feed(Block(0.0, sound)), *segmenter.flush()]
        self.timing.detector_s += time.process_time() - began
        self.timing.sound_s += len(sound) / SAMPLE_RATE
        return found

    def decision(self, segment: Segment) -> Decision:
        """What legbook makes of a segment."""
        began = time.process_time()
        _, decision = self.ears.make_out(segment, STATE)
        self.timing.segments_s.append(time.process_time() - began)
        return decision

    def meanings(self, text: str) -> tuple[Meaning, ...]:
        """What a rival's words mean, by the same strict parser."""
        return self.grammar.parse(text, SETTINGS, STATE)

    def phrase(self, utterance: Utterance, sound: NDArray[np.int16]) -> dict[str, str]:
        """The outcome for one phrase: of legbook (``""``) and of each rival by name."""
        wanted = set(self.meanings(utterance.text))
        segments = self.segments(sound)
        outcomes = {"": _worst(outcome(self.decision(s), wanted) for s in segments)}
        for rival in self.rivals:
            heard = [set(self.meanings(rival.text(segment))) for segment in segments]
            outcomes[rival.name] = _worst(
                "not heard" if not one else "right" if one & wanted else "wrong" for one in heard
            )
        return outcomes


ORDER = ("wrong", "asked, neither right", "right", "asked", "not understood", "not heard")


def outcome(decision: Decision, wanted: set[Meaning]) -> str:
    """What a decision is to who meant one of ``wanted``; one of ``ORDER``."""
    match decision:
        case Accept(heard=heard):
            return "right" if heard.meaning in wanted else "wrong"
        case AskBetween(first=first, second=second):
            right = {first.meaning, second.meaning} & wanted
            return "asked" if right else "asked, neither right"
        case NotForUs():
            return "not heard"
    return "not understood"


def _worst(outcomes: Iterable[str]) -> str:
    return min(outcomes, key=ORDER.index, default="not heard")


def phrases_table(
    bench: Bench, name: str, said: list[Utterance], noise: NDArray[np.float64]
) -> None:
    """Print what becomes of phrases at each ratio of speech to noise."""
    print(f"\n### {name}: {len(said)} utterances, {len({u.text for u in said})} texts\n")
    rivals = "".join(f" {r.name}: right | wrong |" for r in bench.rivals)
    print(f"| speech over noise | right | asked, right among the two | wrong | asked, neither right "
          f"| not understood | passed over |{rivals}")  # fmt: skip
    print("|---" * (7 + 2 * len(bench.rivals)) + "|")
    wrong: list[str] = []
    for snr_db in (None, 20, 15, 10, 5, 0):
        rng = random.Random(1)
        counts: dict[str, Counter[str]] = {
            n: Counter() for n in ["", *(r.name for r in bench.rivals)]
        }
        for utterance in said:
            sound = in_noise(utterance.samples, noise, snr_db, rng.randrange(len(noise)))
            for system, outcome in bench.phrase(utterance, sound).items():
                counts[system][outcome] += 1
                if not system and outcome == "wrong":
                    wrong.append(f'{snr_db} dB "{utterance.text}" ({utterance.voice})')
        own = counts.pop("")
        cells = ["right", "asked", "wrong", "asked, neither right", "not understood", "not heard"]
        row = [f"{100 * own[cell] / len(said):.1f}" for cell in cells]
        for rival in counts.values():
            row += [f"{100 * rival[cell] / len(said):.1f}" for cell in ("right", "wrong")]
        print(
            f"| {'no noise' if snr_db is None else f'{snr_db} dB'} | {' | '.join(row)} |",
            flush=True,
        )
    print(f"\nTaken wrongly: {'; '.join(wrong) or 'none'}.")


def grammars_table(
    benches: Sequence[Bench], name: str, said: list[Utterance], noise: NDArray[np.float64]
) -> None:
    """Print what becomes of the same sounds under each of two grammars that both take the texts."""
    print(f"\n### {name}: {len(said)} utterances, {len({u.text for u in said})} texts\n")
    print("| speech over noise | grammar | right | asked, right among the two | wrong | else |")
    print("|---" * 6 + "|")
    for snr_db in (None, 20, 15, 10, 5, 0):
        rng = random.Random(1)
        counts: dict[str, Counter[str]] = {"before": Counter(), "now": Counter()}
        differ: list[str] = []
        for utterance in said:
            sound = in_noise(utterance.samples, noise, snr_db, rng.randrange(len(noise)))
            outcomes = [bench.phrase(utterance, sound)[""] for bench in benches]
            for count, outcome in zip(counts.values(), outcomes, strict=True):
                count[outcome] += 1
            if outcomes[0] != outcomes[1]:
                differ.append(f'"{utterance.text}" ({utterance.voice}): {" -> ".join(outcomes)}')
        for when, count in counts.items():
            shares = [100 * count[cell] / len(said) for cell in ("right", "asked", "wrong")]
            cells = " | ".join(f"{share:.1f}" for share in (*shares, 100 - sum(shares)))
            ratio = "no noise" if snr_db is None else f"{snr_db} dB"
            print(f"| {ratio} | {when} | {cells} |", flush=True)
        for line in differ:
            print(f"    {line}")


def other_speech_table(bench: Bench, said: list[Utterance]) -> None:
    """Print what is made of speech that is not for us."""
    taken: dict[str, list[str]] = {"legbook": [], **{r.name: [] for r in bench.rivals}}
    asked: list[str] = []
    unsure = count = 0
    pause = np.zeros(SAMPLE_RATE, dtype=np.int16)
    minutes = sum(len(u.samples) for u in said) / SAMPLE_RATE / 60
    for utterance in said:
        for segment in bench.segments(np.concatenate((pause, utterance.samples, pause))):
            count += 1
            match bench.decision(segment):
                case Accept(heard=heard):
                    taken["legbook"].append(heard.text)
                case AskBetween(first=first, second=second):
                    asked.append(f"{first.text} / {second.text}")
                case NotForUs():
                    pass
                case _:
                    unsure += 1
            for rival in bench.rivals:
                text = rival.text(segment)
                if bench.meanings(text):
                    taken[rival.name].append(text)
    print(
        f"\n### Other speech: {minutes:.0f} min, {count} segments, {len({u.voice for u in said})} people\n"
    )
    print("| | taken for a phrase | of these entries |\n|---|---|---|")
    for system, texts in taken.items():
        entries = [t for t in texts if any(m.form != "command" for m in bench.meanings(t))]
        print(f"| {system} | {len(texts)} | {len(entries)} |")
    print(f"\nlegbook asked {len(asked)} times and did not understand {unsure} segments.")
    print(f"Taken: {'; '.join(taken['legbook']) or 'none'}. Asked: {'; '.join(asked) or 'none'}.")


def costs(bench: Bench) -> None:
    """Print computing time and memory."""
    timing = bench.timing
    heard_s = np.array(timing.segments_s)
    rtf = (timing.detector_s + heard_s.sum()) / timing.sound_s
    print("\n### Cost\n\n| | |\n|---|---|")
    print(f"| processor time a second of sound, one core | {rtf:.3f} |")
    print(f"| of this the detector | {timing.detector_s / timing.sound_s:.3f} |")
    print(f"| computing a segment: median, 95 %, greatest | {1000 * np.median(heard_s):.0f}, "
          f"{1000 * np.percentile(heard_s, 95):.0f}, {1000 * heard_s.max():.0f} ms |")  # fmt: skip
    print(f"| silence that ends a phrase | {1000 * HANGOVER_S:.0f} ms |")


def memory(grammar: Grammar) -> None:
    """Print what the loaded ears take, before anything else is loaded."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    began = time.perf_counter()
    ears = Ears.load(SHIPPED_MODEL, grammar, SETTINGS)
    took_s = time.perf_counter() - began
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    del ears
    print(f"Loading all four grammars took {took_s:.1f} s and {(after - before) / 1024:.0f} MB "
          f"({after / 1024:.0f} MB with Python).")  # fmt: skip


def main() -> None:
    """Run what is asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--speech", type=Path, required=True, help="folder of the speech lists")
    parser.add_argument("--noise", type=Path, required=True, help="folder of helicopter recordings")
    parser.add_argument("--pattern", default="5-177957-*", help="which of the recordings")
    parser.add_argument("--listed", type=int, default=130, help="phrases of the speech lists")
    parser.add_argument("--drawn", type=int, default=60, help="phrases drawn from the grammar")
    parser.add_argument("--others", type=int, default=200, help="utterances of other speech")
    parser.add_argument(
        "--before",
        type=Path,
        help="an earlier folder of phrases: hear what both take with each, and nothing else",
    )
    parser.add_argument("--no-rivals", action="store_true", help="legbook alone")
    options = parser.parse_args()

    grammar = load_grammar()
    noise = read_noise(options.noise, options.pattern)
    if options.before is not None:
        compare(load_grammar(options.before), grammar, noise, options)
        return
    memory(grammar)
    acceptor = grammar.acceptor(STATE)
    rivals: list[Rival] = []
    if not options.no_rivals:
        rivals = [VoskPhraseList(MODEL_FOLDER, acceptor), PocketSphinx(acceptor)]
    bench = Bench(grammar, rivals)
    listed = evenly(phrases_of_lists(options.speech, grammar), options.listed)
    drawn = phrases_drawn(grammar, random.Random(7), options.drawn)
    phrases_table(bench, "Development voices", listed, noise)
    phrases_table(bench, "Phrases drawn from the grammar", drawn, noise)
    phrases_table(bench, "Words of the talk", words_of_talk(grammar), noise)
    costs(bench)
    other_speech_table(bench, evenly(other_speech(options.speech, grammar), options.others))


def compare(
    before: Grammar, now: Grammar, noise: NDArray[np.float64], options: argparse.Namespace
) -> None:
    """Hear with two grammars what is a phrase of both."""
    benches = (Bench(before, ()), Bench(now, ()))
    listed = phrases_of_lists(options.speech, before)
    drawn = phrases_drawn(before, random.Random(7), options.drawn)
    for name, said in (
        ("Development voices", listed),
        ("Phrases drawn from the one before", drawn),
    ):
        both = [u for u in said if all(bench.meanings(u.text) for bench in benches)]
        grammars_table(benches, name, evenly(both, options.listed), noise)


def evenly(said: list[Utterance], count: int) -> list[Utterance]:
    """About ``count`` of the utterances, from the whole list."""
    return said[:: max(1, round(len(said) / count))]


if __name__ == "__main__":
    main()
