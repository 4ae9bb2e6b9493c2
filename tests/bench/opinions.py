r"""What two listeners make of the same sounds: the data on which their opinions are put together.

    OPENBLAS_NUM_THREADS=1 python -m tests.bench.opinions --tests TESTS_FOLDER --weights FOLDER \
        --speech ../shared/acoustic/speech --noise ../shared/helicopter_noise --out OPINIONS.jsonl

The sounds are those of `voice.acoustics.evaluate`, by voices that the first listener never heard and others, and of
`tests.bench.leg_lists`, in random order: a run that is cut short holds a fair part of all. A line for each segment that
the detector cuts out: what was said (``null``: no command), the voice, the noise, and both lists. ``whisper`` is
``null`` where the second would not have been asked. Number words of people ("words") are heard by a grammar of these alone.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import time
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from voice.acoustics import corpus
from voice.acoustics.corpus import Corpus
from voice.acoustics.evaluate import DEVELOPMENT, TALK, WORDS, grammar_of, mixed, of_test
from voice.acoustics.shipped import MODEL_FOLDER
from voice.entries.heard import Block
from voice.entries.leg import LegSettings
from voice.hearing.listener import VoskListener
from voice.hearing.model import AcousticModel
from voice.hearing.second.listener import WhisperListener, WhisperModel
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import SileroVad
from voice.meaning.decide import decide
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening
from voice.meaning.two_opinions import is_asked
from voice.session.patience import patience_s

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from voice.acoustics.corpus import Utterance
    from voice.entries.heard import Alternative, Hearing, Segment

STATE = Listening.LISTENING
SETTINGS = LegSettings()
PLAIN = "strange plain"
DEVELOPMENT_PLAIN = "development plain"
TESTS = (
    *("strange phrases", "strange twins", PLAIN, "phrases", "twins"),
    *(*DEVELOPMENT, DEVELOPMENT_PLAIN, "development"),
    *("strange talk", "no command", *WORDS),
)
"""By ``development`` and the like settings and models were chosen, so they are good for a fit only."""
_SETS = {
    PLAIN: "strange-plain",
    DEVELOPMENT_PLAIN: "development-plain",
    "development": "synthetic-dev",
}
"""Sets that `voice.acoustics.evaluate` does not hear."""
_LISTENERS: dict[bool, tuple[VoskListener, WhisperListener]] = {}
"""For number words, and for all else; loaded once, child processes inherit them."""
_SOUNDS: list[tuple[Corpus, NDArray[np.float32]]] = []
"""Speech and noise; likewise."""


class Case(NamedTuple):
    """What is to be heard; ``snr_db``: ``None`` is no noise."""

    test: str
    utterance: Utterance
    snr_db: float | None


def cases(test: str, speech: Corpus, most: int, snrs_db: Sequence[float | None]) -> Iterator[Case]:
    """At most so many utterances of a test, each in every noise."""
    if test in _SETS:
        said = [u for u in speech.utterances if u.set == _SETS[test]]
        said = [u for u in said if load_grammar().parse(u.text, SETTINGS, STATE)]
    else:
        said = of_test(test, speech)
    if test in TALK:
        snrs_db = (None,)
    elif test in WORDS:
        snrs_db = (None, 10.0)
    for u in random.Random(test).sample(said, min(most, len(said))):
        yield from (Case(test, u, snr_db) for snr_db in snrs_db)


def opinions(number: int, case: Case) -> list[dict[str, Any]]:
    """A row for each segment of a sound."""
    words = case.test in WORDS
    vosk, whisper = _LISTENERS[words]
    speech, noise = _SOUNDS[0]
    sound = mixed(speech.sound_of(case.utterance), noise, case.snr_db, random.Random(number))
    said = None if case.test in TALK else case.utterance.text
    about = {
        "id": number,
        "kind": case.test,
        "said": said,
        "voice": case.utterance.voice,
        "noise_db": case.snr_db,
    }
    rows = []
    for segment, first in _segments(sound, vosk, patient=not words):
        alone = decide(first, load_grammar(), STATE, SETTINGS, cut=segment.cut)
        second, took_s = None, 0.0
        if is_asked(alone, STATE) or (said is not None and not segment.cut):
            began_s = time.process_time()
            second = whisper.hear(segment)
            took_s = time.process_time() - began_s
        rows.append(
            {
                **about,
                "cut": segment.cut,
                "length_s": round(segment.end_s - segment.start_s, 2),
                "vosk": _listed(first.alternatives),
                "beginnings": _listed(first.beginnings),
                "whisper": None if second is None else _listed(second.alternatives),
                "seconds": round(took_s, 3),
            }
        )
    return rows or [{**about, "vosk": [], "whisper": None}]


def _segments(
    sound: NDArray[np.int16], vosk: VoskListener, *, patient: bool
) -> Iterator[tuple[Segment, Hearing]]:
    """With ``patient`` as on a leg: what was heard so far tells how long a pause is."""
    last: list[tuple[Segment, Hearing]] = []

    def hear(segment: Segment) -> Hearing:
        if not last or last[0][0] is not segment:
            last[:] = [(segment, vosk.hear(segment))]
        return last[0][1]

    def pause_s(segment: Segment) -> float:
        decision = decide(hear(segment), load_grammar(), STATE, SETTINGS, cut=segment.cut)
        return patience_s(hear(segment), decision, load_grammar(), STATE)

    segmenter = Segmenter(_detector())
    found = segmenter.feed(Block(0.0, sound), pause_s if patient else None)
    for segment in (*found, *segmenter.flush()):
        yield segment, hear(segment)


@cache
def _detector() -> SileroVad:
    return SileroVad()


def _listed(alternatives: Iterable[Alternative]) -> list[tuple[str, float]]:
    return [(one.text, round(one.score, 2)) for one in alternatives]


def main(arguments: Sequence[str] | None = None) -> None:
    """Hear all and write it down."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.opinions", description=__doc__)
    parser.add_argument("--speech", type=Path, required=True)
    parser.add_argument(
        "--tests", type=Path, default=[], nargs="*", help="folders of the spoken tests"
    )
    parser.add_argument("--noise", type=Path, required=True)
    parser.add_argument(
        "--weights", type=Path, required=True, help="folder of the second's weights"
    )
    parser.add_argument("--model", type=Path, default=MODEL_FOLDER, help="of the first listener")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--only", choices=TESTS, action="append", help="these tests only")
    parser.add_argument("--snr", type=float, action="append", help="noise in dB; else 20 to 0")
    parser.add_argument("--most", type=int, default=1000, help="utterances of a test")
    parser.add_argument("--seconds", type=float, default=1e9, help="stop so long after loading")
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    chosen = parser.parse_args(arguments)

    # each folder once: what is heard twice would count twice
    speech = Corpus.read(dict.fromkeys([chosen.speech, *chosen.tests]))
    noise = corpus.read_noise(chosen.noise, held_out=True)
    grammars = {False: load_grammar().acceptor(STATE), True: grammar_of("words", speech)}
    first = AcousticModel.open(chosen.model)
    second = WhisperModel.open(chosen.weights, *grammars.values())
    for words, grammar in grammars.items():
        _LISTENERS[words] = (VoskListener(first, grammar), WhisperListener(second, grammar))
    snrs_db = chosen.snr or (20.0, 15.0, 10.0, 5.0, 0.0)
    _SOUNDS[:] = [(speech, noise)]
    listed = [
        case for test in chosen.only or TESTS for case in cases(test, speech, chosen.most, snrs_db)
    ]
    order = random.Random(1).sample(range(len(listed)), len(listed))
    began_s = time.monotonic()
    with (
        chosen.out.open("w", encoding="utf-8") as out,
        ProcessPoolExecutor(chosen.processes) as pool,
    ):
        for rows in pool.map(opinions, order, (listed[n] for n in order), chunksize=4):
            out.writelines(f"{json.dumps(row)}\n" for row in rows)
            out.flush()
            if time.monotonic() - began_s > chosen.seconds:
                pool.shutdown(wait=False, cancel_futures=True)
                break


if __name__ == "__main__":
    main()
