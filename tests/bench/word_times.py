"""How exact the times of words are, where Vosk is asked for them: speech whose words' times are known.

    python -m tests.bench.word_times --speech ../shared/acoustic/speech --noise ../shared/helicopter_noise

Legbook itself asks for no word times: it keeps the time at which a segment begins, which is measured
here too. Two kinds of speech have known times: phrases of the grammar by festival, which tells when it
said each word, and single digits of people, put one after the other with a tenth of a second of silence
between them. Needs Debian's ``festival`` with the voices of `voice.acoustics.synthesis`.
"""

from __future__ import annotations

import argparse
import json
import random
import shutil
import subprocess
import tempfile
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import vosk

from tests.bench.corpus import AROUND_S, in_noise, read_noise
from voice.acoustics.corpus import held_out, read_sound
from voice.acoustics.shipped import MODEL_FOLDER
from voice.capture.recordings import read_recording
from voice.entries.heard import SAMPLE_RATE, Block
from voice.hearing.model import AcousticModel
from voice.hearing.segmenter import AROUND_S as KEPT_BEFORE_S
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import SileroVad
from voice.meaning.automaton import compile_acceptor
from voice.meaning.expression import Either, Row, Word
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from voice.entries.heard import Segment
    from voice.meaning.acceptor import Acceptor

vosk.SetLogLevel(-1)

FESTIVAL = ("kal_diphone", "ked_diphone", "cmu_us_slt_arctic_hts")
DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_IN_A_ROW = (3, 4, 5)
_BETWEEN_S = 0.1
_FRAME = 160
_LOUD = 10**-2.5
"""A person's word is where it is within 25 dB of its loudest 10 ms."""
_QUIET = 10**-3.5
"""Recordings with more than this at either end are left out: a hum, or a word that is cut off."""
_SNRS_DB = (None, 10, 0)
_BOUNDARIES = "graph/phones/word_boundary.int"
_SAY = """(voice_{voice})
(set! said (utt.synth (Utterance Text "{text}")))
(utt.save.wave said "{wav}" 'riff)
(mapcar (lambda (word) (format t "%s %f %f\\n" (item.name word)
  (item.feat word "word_start") (item.feat word "word_end"))) (utt.relation.items said 'Word))"""


@dataclass(frozen=True, slots=True)
class TimedWord:
    """A word and when it is said, in seconds from the beginning of the sound."""

    text: str
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class Timed:
    """Speech with the times of its words."""

    words: tuple[TimedWord, ...]
    samples: NDArray[np.int16]

    @property
    def text(self) -> str:
        """The words alone."""
        return " ".join(word.text for word in self.words)


# --- speech with known times ---------------------------------------------------------------------


def by_festival(texts: Sequence[str]) -> Iterator[Timed]:
    """``texts`` by festival's voices in turn, without those that it splits into other words."""
    for number, text in enumerate(texts):
        with tempfile.TemporaryDirectory() as folder:
            wav, script = Path(folder) / "said.wav", Path(folder) / "say.scm"
            script.write_text(_SAY.format(voice=FESTIVAL[number % 3], text=text, wav=wav))
            said = subprocess.run(
                ["festival", "-b", str(script)], check=True, capture_output=True, text=True
            )
            words = tuple(
                TimedWord(name.lower(), float(start), float(end))
                for name, start, end in map(str.split, said.stdout.splitlines())
            )
            if [word.text for word in words] == text.split():
                yield Timed(words, np.concatenate(list(read_recording(wav))))


def by_people(speech: Path, rng: random.Random, count: int) -> Iterator[Timed]:
    """Rows of digits, each row by one person that no training has heard."""
    digits: dict[str, list[tuple[str, NDArray[np.int16]]]] = defaultdict(list)
    sounds: dict[str, NDArray[np.int16]] = {}
    for item in map(json.loads, (speech / "sc.jsonl").read_text("utf-8").splitlines()):
        if not held_out(item) or item["text"] not in DIGITS:
            continue
        if item["file"] not in sounds:
            sounds[item["file"]] = read_sound(speech / item["file"])
        start = item["start"]
        alone = without_quiet(sounds[item["file"]][start : start + item["samples"]])
        if alone is not None:
            digits[item["voice"]].append((item["text"], alone))
    people = sorted(voice for voice, said in digits.items() if len(said) >= max(_IN_A_ROW))
    for _ in range(count):
        yield in_a_row(rng.sample(digits[rng.choice(people)], rng.choice(_IN_A_ROW)))


def without_quiet(samples: NDArray[np.int16]) -> NDArray[np.int16] | None:
    """The word alone; ``None`` where the recording does not show its beginning and end clearly."""
    frames = samples[: len(samples) // _FRAME * _FRAME].astype(np.float64).reshape(-1, _FRAME)
    powers = np.mean(frames**2, axis=1)
    if max(*powers[:3], *powers[-3:]) > _QUIET * powers.max():
        return None
    first, *_, last = np.flatnonzero(powers > _LOUD * powers.max())
    return samples[first * _FRAME : (last + 1) * _FRAME]


def in_a_row(words: Sequence[tuple[str, NDArray[np.int16]]]) -> Timed:
    """Words with a little silence after each."""
    silence = np.zeros(round(_BETWEEN_S * SAMPLE_RATE), np.int16)
    timed: list[TimedWord] = []
    parts: list[NDArray[np.int16]] = []
    start_s = 0.0
    for text, samples in words:
        end_s = start_s + len(samples) / SAMPLE_RATE
        timed.append(TimedWord(text, start_s, end_s))
        parts += [samples, silence]
        start_s = end_s + _BETWEEN_S
    return Timed(tuple(timed), np.concatenate(parts))


# --- hearing ---------------------------------------------------------------------------------------


def model_with_times(acceptor: Acceptor) -> vosk.Model:
    """The shipped model, with the file that legbook leaves out because it asks for no times."""
    with AcousticModel.open(MODEL_FOLDER).with_grammar(acceptor) as strict:
        (strict / _BOUNDARIES).parent.mkdir()
        shutil.copyfile(MODEL_FOLDER / _BOUNDARIES, strict / _BOUNDARIES)
        return vosk.Model(model_path=str(strict))


def heard(model: vosk.Model, segment: Segment) -> tuple[TimedWord, ...]:
    """The likeliest words with Vosk's times, on the clock of the segment."""
    recogniser = vosk.KaldiRecognizer(model, float(SAMPLE_RATE))
    recogniser.SetWords(True)
    recogniser.AcceptWaveform(segment.samples.tobytes())
    return tuple(
        TimedWord(word["word"], segment.start_s + word["start"], segment.start_s + word["end"])
        for word in json.loads(recogniser.FinalResult()).get("result", ())
    )


@dataclass(slots=True)
class Errors:
    """Heard less true, in ms."""

    starts: list[float]
    ends: list[float]
    segments: list[float]
    """Where speech begins by the detector, less where the first word begins."""
    apart: int = 0
    """Words whose heard time has no moment in common with the true one."""
    passed_over: int = 0
    """Rows and phrases that came out as other words, or in several segments."""


def errors_of(
    model: vosk.Model, said: Sequence[Timed], noise: NDArray[np.float64], snr_db: float | None
) -> Errors:
    """The errors over all that was heard rightly."""
    rng = random.Random(1)
    errors = Errors([], [], [])
    for timed in said:
        sound = in_noise(timed.samples, noise, snr_db, rng.randrange(len(noise)))
        segmenter = Segmenter(SileroVad())
        segments = [*segmenter.feed(Block(-AROUND_S, sound)), *segmenter.flush()]
        words = heard(model, segments[0]) if len(segments) == 1 else ()
        if " ".join(word.text for word in words) != timed.text:
            errors.passed_over += 1
            continue
        begins_s = segments[0].start_s + KEPT_BEFORE_S
        errors.segments.append(1000 * (begins_s - timed.words[0].start_s))
        for word, true in zip(words, timed.words, strict=True):
            errors.starts.append(1000 * (word.start_s - true.start_s))
            errors.ends.append(1000 * (word.end_s - true.end_s))
            errors.apart += word.end_s <= true.start_s or word.start_s >= true.end_s
    return errors


def spread(found_ms: Sequence[float]) -> str:
    """The median, the middle 90 %, and how near 95 % come: as they are, and less the median."""
    low, middle, high = np.percentile(found_ms, [5, 50, 95])
    near = np.percentile(np.abs(found_ms), 95)
    rest = np.percentile(np.abs(np.array(found_ms) - middle), 95)
    return f"{middle:+.0f} | {low:+.0f} to {high:+.0f} | {near:.0f} | {rest:.0f}"


def table(name: str, errors: Errors) -> Iterator[str]:
    """The lines of the table for one kind of speech in one noise."""
    for what, found_ms in (
        ("start of a word", errors.starts),
        ("end of a word", errors.ends),
        ("start of the speech", errors.segments),
    ):
        yield f"| {name} | {what} | {len(found_ms)} | {spread(found_ms)} |"
    yield f"<!-- {errors.passed_over} passed over, {errors.apart} words beside the true time -->"


def lines(options: argparse.Namespace) -> Iterator[str]:
    """Measure, line by line of the table."""
    noise = read_noise(options.noise, "5-177957-*")
    grammar = load_grammar()
    rng = random.Random(3)
    drawn = [grammar.sample(rng, Listening.LISTENING)[0] for _ in range(options.count)]
    digit = Either(tuple(map(Word, DIGITS)))
    rows = Either(tuple(Row((digit,) * length) for length in _IN_A_ROW))
    kinds = (
        ("phrases, festival", grammar.acceptor(Listening.LISTENING), by_festival(drawn)),
        ("digits, people", compile_acceptor(rows), by_people(options.speech, rng, options.count)),
    )
    yield "| speech | noise | of what | n | median | 5 to 95 % | 95 % within | less the median |"
    yield "|---" * 8 + "|"
    for kind, acceptor, spoken in kinds:
        model, said = model_with_times(acceptor), list(spoken)
        for snr_db in _SNRS_DB:
            noisy = "no noise" if snr_db is None else f"{snr_db} dB"
            yield from table(f"{kind} | {noisy}", errors_of(model, said, noise, snr_db))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench.word_times", description=__doc__.splitlines()[0]
    )
    parser.add_argument("--speech", type=Path, required=True, help="folder of the speech lists")
    parser.add_argument("--noise", type=Path, required=True, help="folder of helicopter recordings")
    parser.add_argument("--count", type=int, default=150, help="phrases, and rows of digits")
    for line in lines(parser.parse_args()):
        print(line, flush=True)  # noqa: T201 - a bench tells what it found


if __name__ == "__main__":
    main()
