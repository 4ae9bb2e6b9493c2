"""Words said over the program's own voice: which are heard, and how soon it falls silent.

    python -m tests.session.talking_over

needs espeak-ng and flite. Each word is said over a read-back by three voices, while the program's own
voice comes back through a small room at several levels, in time that goes on with the sound
(``tests.session.room``). So is each of six entries. Then the program reads back, with nobody speaking over it,
whatever holds one of the words. Printed are three tables for docs/bench.md.
"""

from __future__ import annotations

import sys
import tempfile
from datetime import UTC, datetime
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import soundfile
import soxr

from tests.session.room import LEVEL, Line, Room, level_of
from voice.entries.heard import SAMPLE_RATE
from voice.entries.leg import EntryState
from voice.hearing.echo import EchoCanceller
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import SileroVad
from voice.meaning.decision import Doubt, NotUnderstood
from voice.record.shelf import load
from voice.session.barge_in import BargeIn
from voice.session.keeper import Keeper
from voice.session.mouth import Mouth
from voice.session.progress import LegBegan, Progress, SegmentHeard, Spoken
from voice.session.session import Session
from voice.session.setups import Equipment

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.session.room import Sound

NOISE = Path(__file__).parents[2] / "audio_fixtures" / "noise" / "5-177957-C.ogg"
VOICES = ("en-us+f3", "slt", "rms")
WORDS = (
    "confirm", "no", "negative", "scratch that", "say again", "stop", "correction pressure eighteen",
)  # fmt: skip
ENTRIES = (
    "drained six mils", "heart rate eighty eight", "pupils four reactive", "temperature thirty eight",
    "fentanyl fifty micrograms", "drain clamped",
)  # fmt: skip
ENTRY = "blood pressure one twenty four over seventy six"
ZERO_AT = datetime(2030, 5, 1, 12, tzinfo=UTC)
OVER_S = 1.3
"""So far into the read-back of four seconds the word begins."""
NOT_TAKEN = ": not taken"
OVER_US = NotUnderstood(doubt=Doubt.OVER_US)
LEVELS_DB = (None, -20.0, -10.0, 0.0, 6.0)
NOISY = (-20.0, 10.0)
"""One run more: an echo, and speech over the noise of a helicopter, in dB."""
TALK = (
    "start leg", "confirm", "pressure fourteen", "correction pressure eighteen", "scratch that",
    "drain zeroed", "no drip at zero", "what is unconfirmed", "read unconfirmed", "next part",
    "stop reading", "drain clamped", "no", "check before the move", "no", "skip", "stop check",
    "pressure twenty two", "say again", "correction pressure twenty", "read last", "total out",
)  # fmt: skip
"""Answered with sentences that hold "confirm", "no", "stop", "say again" and "correction"."""


class Bench:
    """One model, loaded once, and a session in a room for each run."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.equipment = Equipment(root=folder)
        self.ears = self.equipment.ears()
        self._words = self.equipment.words()
        self._listener = self.equipment.model.interruptions(self.equipment.listened)

    def sit(self, room: Room) -> list[Progress]:
        """Let it all happen, and tell what did."""
        equipment = self.equipment
        session = Session(
            source=room,
            segmenter=Segmenter(SileroVad()),
            ears=self.ears,
            words=self._words,
            mouth=Mouth(equipment.synthesiser(), room),
            keeper=Keeper(equipment.origin()),
            zero_at=ZERO_AT,
            barge_in=BargeIn(EchoCanceller(room), Segmenter(SileroVad()), self._listener),
        )
        return list(session.run())


def noise(snr_db: float) -> Sound:
    """Helicopter so far below the nurse's voice."""
    samples, rate = soundfile.read(NOISE, always_2d=True)
    sound = soxr.resample(samples.mean(axis=1), rate, SAMPLE_RATE)
    return np.asarray(sound * LEVEL / level_of(sound) * 10 ** (-snr_db / 20))


def talking_over(bench: Bench, echo_db: float | None, snr_db: float | None) -> tuple[str, ...]:
    """One line of the first table."""
    heard = wrong = not_taken = 0
    after_begin_s: list[float] = []
    after_end_s: list[float] = []
    each = ((Line(ENTRY), Line(word, OVER_S), Line("no")) for word in WORDS)
    lines = [Line("start leg"), *chain.from_iterable(each)]
    for voice in VOICES:
        sound = None if snr_db is None else noise(snr_db)
        room = Room(lines, echo_db=echo_db, voice=voice, noise=sound)
        told = bench.sit(room)
        texts = [one.text for one in told if isinstance(one, SegmentHeard)]
        cuts_s = list(room.silenced_s)
        for word, began_s, ended_s in room.said[2::3]:
            cut_s = next((s for s in cuts_s if began_s < s < ended_s + 0.6), None)
            if cut_s is None:
                continue
            cuts_s.remove(cut_s)
            heard += word in texts or word == "stop"
            after_begin_s.append(cut_s - began_s)
            after_end_s.append(cut_s - ended_s)
        missed = len(told_missed(told))
        not_taken += missed
        wrong += len(cuts_s) - missed + confirmed(told)  # it falls silent to tell
    return (
        _level(echo_db),
        _level(snr_db),
        f"{heard} of {len(VOICES) * len(WORDS)}",
        str(not_taken),
        str(wrong),
        _spread(after_begin_s),
        _spread(after_end_s),
    )


def entries_over(bench: Bench, echo_db: float | None, snr_db: float | None) -> tuple[str, ...]:
    """One line of the second table."""
    by_name = other = tones = 0
    each = ((Line(ENTRY), Line(entry, OVER_S), Line("no")) for entry in ENTRIES)
    lines = [Line("start leg"), *chain.from_iterable(each)]
    for voice in VOICES:
        sound = None if snr_db is None else noise(snr_db)
        told = bench.sit(Room(lines, echo_db=echo_db, voice=voice, noise=sound))
        missed = [one for one in told if isinstance(one, SegmentHeard) and one.decision == OVER_US]
        said = told_missed(told)
        by_name += sum(text in ENTRIES for text in said)
        other += sum(text not in ENTRIES for text in said)
        tones += len(missed) - len(said)
    return (
        _level(echo_db),
        _level(snr_db),
        f"{by_name} of {len(VOICES) * len(ENTRIES)}",
        str(other),
        str(tones),
    )


def told_missed(told: list[Progress]) -> list[str]:
    """What it told not to have taken."""
    return [
        one.text.partition(NOT_TAKEN)[0]
        for one in told
        if isinstance(one, Spoken) and NOT_TAKEN in one.text
    ]


def hearing_itself(bench: Bench, echo_db: float) -> tuple[str, ...]:
    """One line of the third table."""
    room = Room([Line(text) for text in TALK], echo_db=echo_db)
    told = bench.sit(room)
    begun = [began_s for _, began_s, _ in room.said]
    started = next(one.at for one in told if isinstance(one, SegmentHeard))
    zero_s = begun[0] - 0.3
    heard_s = [
        (one.at - started).total_seconds() + zero_s for one in told if isinstance(one, SegmentHeard)
    ]
    ours = [at_s for at_s in heard_s if min(abs(at_s + 0.3 - began_s) for began_s in begun) > 0.5]
    spoken_s = np.count_nonzero(room.played(0, round(room.now_s * SAMPLE_RATE))) / SAMPLE_RATE
    return (
        f"{echo_db:g} dB",
        f"{spoken_s:.0f} s",
        str(len(ours)),
        str(len(room.silenced_s)),
        str(confirmed(told)),
    )


def confirmed(told: list[Progress]) -> int:
    """Entries of the leg that are confirmed; nobody has confirmed any in time."""
    folder = next(one.folder for one in told if isinstance(one, LegBegan))
    return sum(entry.state is EntryState.CONFIRMED for entry in load(folder).entries)


def _level(db: float | None) -> str:
    return "none" if db is None else f"{db:g} dB"


def _spread(times_s: list[float]) -> str:
    if not times_s:
        return "none"
    return f"{np.median(times_s):.2f}, {max(times_s):.2f} s"


def _table(head: str, rows: Iterator[tuple[str, ...]]) -> None:
    sys.stdout.write(f"{head}\n{'|---' * (head.count('|') - 1)}|\n")
    for row in rows:
        sys.stdout.write(f"| {' | '.join(row)} |\n")
        sys.stdout.flush()


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as name:
        bench = Bench(Path(name))
        runs = [*((level_db, None) for level_db in LEVELS_DB), NOISY]
        _table(
            "| echo against the nurse | speech over noise | heard and obeyed | told not to be taken | done wrongly "
            "| silent after its beginning: median, greatest | after its end |",
            (talking_over(bench, echo_db, snr_db) for echo_db, snr_db in runs),
        )
        _table(
            "| echo against the nurse | speech over noise | told by name | told otherwise | a tone |",
            (entries_over(bench, echo_db, snr_db) for echo_db, snr_db in runs),
        )
        _table(
            "| echo against the nurse | own voice | segments out of it | fell silent | confirmed |",
            (hearing_itself(bench, level_db) for level_db in (-20.0, 0.0, 6.0)),
        )


if __name__ == "__main__":
    main()
