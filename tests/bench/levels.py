"""What becomes of phrases that are too faint, too loud, shifted, or come by telephone.

    python -m tests.bench.levels [--not-raised] [--others ../shared/acoustic/speech]

hears every second entry of the demo legs, changed in each way, and prints a table; with ``--not-raised`` as
if faint sound were not made louder (``voice.hearing.faint``). With ``--others`` it hears every eighth sentence of
people in place of them, as loud as it is and with its loudest sample at -40 dBFS: none of it is for us.
"""

from __future__ import annotations

import argparse
import sys
import tomllib
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING
from unittest.mock import patch

import numpy as np
import soxr

from tests.bench.corpus import other_speech
from voice.capture.recordings import BLOCK_SAMPLES, TAIL_S, read_recording
from voice.entries.heard import SAMPLE_RATE, Block
from voice.hearing.faint import Raiser
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import SileroVad
from voice.meaning.decision import Accept, AskBetween
from voice.meaning.listening import Listening
from voice.session.models import SHIPPED_MODEL
from voice.session.setups import Equipment

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from voice.meaning.decision import Decision
    from voice.session.ears import Ears

    Sound = NDArray[np.float64]

FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
FULL = 32768


def main() -> None:
    """Hear all and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--not-raised", action="store_true")
    parser.add_argument("--others", type=Path)
    options = parser.parse_args()
    if options.not_raised:
        patch.object(Raiser, "raised", lambda _, segment: segment).start()
    if options.others:
        tell_of_others(options.others)
        return
    said = clips()
    sys.stdout.write(f"{len(said)} clips\n| | right | asked | not understood | wrong |\n")
    for name, change in CHANGES.items():
        ears = Equipment(model=SHIPPED_MODEL).ears()  # anew: it remembers how loud the speech is
        counts = {"right": 0, "asked": 0, "not understood": 0, "wrong": 0}
        for text, sound in said:
            counts[outcome(text, decisions(ears, change(sound)))] += 1
        told = " | ".join(str(count) for count in counts.values())
        sys.stdout.write(f"| {name} | {told} |\n")
        sys.stdout.flush()


def tell_of_others(folder: Path) -> None:
    """What is made of sentences of people that are no phrase."""
    equipment = Equipment(model=SHIPPED_MODEL)
    said = [one.samples.astype(np.float64) for one in other_speech(folder, equipment.grammar)[::8]]
    minutes = sum(map(len, said)) / SAMPLE_RATE / 60
    for name in ("as it is", "loudest at -40 dBFS"):
        ears = equipment.ears()
        found = [one for sound in said for one in decisions(ears, CHANGES[name](sound))]
        counts = Counter(one.outcome for one in found)
        taken = [one.heard.text for one in found if isinstance(one, Accept)]
        sys.stdout.write(
            f"{len(said)} sentences, {minutes:.1f} min, {name}: {dict(counts)}, taken: {taken}\n"
        )
        sys.stdout.flush()


def clips() -> list[tuple[str, Sound]]:
    """Every second entry of the demo legs, with its text."""
    found = []
    for leg in ("demo_leg", "troubled_leg"):
        rows = tomllib.loads((FIXTURES / leg / "leg.toml").read_text("utf-8"))["said"]
        for number, row in enumerate(rows, 1):
            if "entry" in row and "stands_for" not in row:
                blocks = read_recording(FIXTURES / leg / "clips" / f"{number:03}.opus")
                found.append((row["text"], np.concatenate(list(blocks)).astype(np.float64)))
    return found[::2]


def at_peak(dbfs: float) -> Callable[[Sound], Sound]:
    """So loud that the loudest sample is there; above 0 it is cut off."""
    return lambda sound: sound / np.abs(sound).max() * FULL * 10 ** (dbfs / 20)


def shifted(sound: Sound) -> Sound:
    """With a tenth of full scale added to each sample."""
    return at_peak(-12)(sound) + FULL / 10


def by_telephone(sound: Sound) -> Sound:
    """With what 8,000 samples a second hold."""
    narrow = soxr.resample(sound, SAMPLE_RATE, SAMPLE_RATE / 2)
    return np.asarray(soxr.resample(narrow, SAMPLE_RATE / 2, SAMPLE_RATE))


CHANGES: dict[str, Callable[[Sound], Sound]] = {
    "as it is": lambda sound: sound,
    "8 kHz": by_telephone,
    "loudest at -30 dBFS": at_peak(-30),
    "loudest at -35 dBFS": at_peak(-35),
    "loudest at -40 dBFS": at_peak(-40),
    "loudest at -45 dBFS": at_peak(-45),
    "loudest at -50 dBFS": at_peak(-50),
    "6 dB cut off": at_peak(6),
    "20 dB cut off": at_peak(20),
    "shifted by 10 %": shifted,
}


def decisions(ears: Ears, sound: Sound) -> list[Decision]:
    """What is made of each stretch of speech in it."""
    silence = np.zeros(round(TAIL_S * SAMPLE_RATE))
    samples = np.concatenate((sound, silence)).round().clip(-FULL, FULL - 1).astype(np.int16)
    segmenter = Segmenter(SileroVad())
    return [
        ears.make_out(segment, Listening.LISTENING)[1]
        for first in range(0, len(samples), BLOCK_SAMPLES)
        for segment in segmenter.feed(
            Block(first / SAMPLE_RATE, samples[first : first + BLOCK_SAMPLES])
        )
    ]


def outcome(text: str, found: list[Decision]) -> str:
    """What became of a phrase; a part that is taken for another phrase is the worst."""
    taken = [one.heard.text for one in found if isinstance(one, Accept)]
    if taken:
        return "right" if taken == [text] else "wrong"
    return "asked" if any(isinstance(one, AskBetween) for one in found) else "not understood"


if __name__ == "__main__":
    main()
