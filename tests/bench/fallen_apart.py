"""Phrases that fall apart at a pause: what comes of them in a whole session, with real sound.

    python -m tests.bench.fallen_apart [--phrases 25] [--list]

needs espeak-ng and flite. Phrases drawn from the grammar are said with a pause after a word drawn at random, to a
session that reads back in time and can be fallen in to; nobody confirms. Each length of the pause and each noise
has phrases of its own, by voices in turn. What stands in the leg before the next phrase is:

* right: the entry that was meant, and nothing else;
* told: not that, but a question, a tone or a sentence told that something was not taken;
* wrong: another entry, read back and nothing more;
* lost: nothing, in silence.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
import tempfile
from collections import Counter
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from tests.session.room import Line, Room
from tests.session.talking_over import ZERO_AT, Bench, noise
from voice.dialogue.actions import Keep, Tone, Withdraw
from voice.entries.leg import LegSettings
from voice.entries.said import Statement
from voice.meaning.listening import Listening
from voice.session.progress import Sounded, Spoken, Written

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from voice.session.progress import Progress

VOICES = ("slt", "rms", "awb", "en-us+f3")
PAUSES_S = (0.0, 0.7, 1.0, 1.5, 2.5)
NOISES_DB = (None, 10.0)
AT_ONCE = 6
"""Phrases of one voice in one leg."""
MOST_WORDS = 12
PATIENCE_S = 4.0
TOLD = re.compile(r"\?$|not taken|not understood|say again|not kept|nothing (to|kept)")


class Phrase(NamedTuple):
    """What is said in two goes."""

    first: str
    rest: str
    meant: Statement


class Outcome(NamedTuple):
    """What came of it."""

    name: str
    phrase: Phrase
    kept: tuple[Statement, ...]
    told: tuple[str, ...]


def phrases(bench: Bench, rng: random.Random, *, whole: bool) -> Iterator[Phrase]:
    """Entries without end, each broken at a word, or ``whole``."""
    grammar = bench.equipment.grammar
    while True:
        text, meant = grammar.sample(rng, Listening.CONFIRMING)
        words = text.split()
        if not isinstance(meant, Statement) or not 2 <= len(words) <= MOST_WORDS:
            continue
        if grammar.refusal(meant.entry, LegSettings()):
            continue
        at = len(words) if whole else rng.randrange(1, len(words))
        yield Phrase(" ".join(words[:at]), " ".join(words[at:]), meant)


def outcomes(
    bench: Bench, said: Sequence[Phrase], pause_s: float, snr_db: float | None, voice: str
) -> Iterator[Outcome]:
    """One leg, and what came of each phrase in it."""
    lines = [Line("start leg"), Line("what is unconfirmed")]  # enough of its voice to know it
    for one in said:
        lines += [Line(one.first, pause_s=pause_s, rest=one.rest), Line("no")]
    room = Room(lines, noise=None if snr_db is None else noise(snr_db), voice=voice)
    room.patience_s = PATIENCE_S
    told = bench.sit(room)
    begun = [ZERO_AT + timedelta(seconds=begun_s) for _, begun_s, _ in room.said]
    for one, (from_at, to_at) in zip(said, zip(begun[2::2], begun[3::2], strict=True), strict=True):
        yield outcome(one, [news for news in told if from_at <= news.at < to_at])


def outcome(phrase: Phrase, told: Sequence[Progress]) -> Outcome:
    """By what was told between the phrase and the next."""
    kept: dict[int, Statement] = {}
    sayings: list[str] = []
    for one in told:
        match one:
            case Written(action=Keep(number=number, statement=statement, replaces=replaces)):
                kept.pop(replaces or 0, None)
                kept[number] = statement
            case Written(action=Withdraw(number=number)):
                kept.pop(number, None)
            case Sounded(tone=Tone.NOT_UNDERSTOOD):
                sayings.append("tone")
            case Spoken(text=text) if TOLD.search(text):
                sayings.append(text)
    entries = tuple(kept.values())
    if entries == (phrase.meant,):
        name = "right"
    elif sayings:
        name = "told"
    else:
        name = "wrong" if entries else "lost"
    return Outcome(name, phrase, entries, tuple(sayings))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--phrases", type=int, default=24, help="for each pause and noise")
    parser.add_argument("--pause", type=float, action="append", help="these lengths only")
    parser.add_argument("--list", action="store_true", help="tell each that did not come out right")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        bench = Bench(Path(name))
        sys.stdout.write(
            "| pause | noise | right | told | wrong | lost |\n|---|---|---|---|---|---|\n"
        )
        for pause_s in options.pause or PAUSES_S:
            for snr_db in NOISES_DB:
                rng = random.Random(f"{pause_s} {snr_db}")
                drawn = phrases(bench, rng, whole=pause_s == 0)
                found: list[Outcome] = []
                for turn in range(0, options.phrases, AT_ONCE):
                    said = [next(drawn) for _ in range(min(AT_ONCE, options.phrases - turn))]
                    voice = VOICES[turn // AT_ONCE % len(VOICES)]
                    found += outcomes(bench, said, pause_s, snr_db, voice)
                counts = Counter(one.name for one in found)
                row = " | ".join(str(counts[n]) for n in ("right", "told", "wrong", "lost"))
                noisy = "none" if snr_db is None else f"{snr_db:g} dB"
                sys.stdout.write(f"| {pause_s:g} s | {noisy} | {row} |\n")
                for one in found if options.list else ():
                    if one.name != "right":
                        sys.stdout.write(
                            f"  {one.name}: {one.phrase.first} / {one.phrase.rest}: "
                            f"{one.kept} {one.told}\n"
                        )
                sys.stdout.flush()


if __name__ == "__main__":
    main()
