"""An invented leg in a folder, with sounds, for the desk to work on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from voice.entries.heard import SAMPLE_RATE
from voice.entries.kinds.leg import SpokenNote
from voice.entries.leg import LegSettings
from voice.entries.said import Command, Several, Statement, Talk
from voice.meaning.decision import (
    Accept,
    AskBetween,
    Doubt,
    NotForUs,
    NotUnderstood,
)
from voice.meaning.decision import Heard as HeardWords
from voice.meaning.grammar import load_grammar
from voice.record.events import Confirmed, Heard, Kept, LegEnded, ScoredText, SecondHeard, Together
from voice.record.journal import Journal

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from voice.entries.kinds import Entry
    from voice.meaning.decision import Decision

START = datetime(2026, 5, 1, 22, 30, tzinfo=UTC)
LEG = "2026-05-01-2330"
SETTINGS = LegSettings(utc_offset_min=60)
"""By its clock the leg starts half an hour before midnight."""


def at(minutes: float) -> datetime:
    """So many minutes after the leg's start."""
    return START + timedelta(minutes=minutes)


_BY_UTC = LegSettings()


@dataclass(frozen=True)
class When:
    """When a leg is, by which clock, and how far apart things are said on it."""

    leg_id: str
    start: datetime
    settings: LegSettings = _BY_UTC
    apart: timedelta = timedelta(minutes=1)


AT_MIDNIGHT = When(LEG, START, SETTINGS)


class Flight:
    """Says things on a leg, one after the other."""

    def __init__(self, root: Path, when: When = AT_MIDNIGHT, *, with_sound: bool = True) -> None:
        self.folder = root / when.leg_id
        self.journal = Journal.create(
            self.folder, when.settings, when.start, grammar_digest="g" * 64, model_digest="m" * 64
        )
        self._when = when
        self._with_sound = with_sound
        self._said = 0

    def hear(
        self,
        decision: Decision,
        *texts: str,
        second: SecondHeard | None = None,
        sound: NDArray[np.int16] | None = None,
    ) -> tuple[datetime, str | None]:
        """Speech that was heard as ``texts``, each 2 behind the one before it, other talk 30; gives when, and its clip.

        ``sound`` is how it sounded; else a tenth of a second of noise.
        """
        self._said += 1
        start_at = self._when.start + self._said * self._when.apart
        if sound is None:
            sound = np.random.default_rng(self._said).integers(-999, 999, 1600, dtype=np.int16)
        clip = self.journal.add_clip(sound) if self._with_sound else None
        self.journal.append(
            Heard(
                at=start_at,
                start_at=start_at,
                end_at=start_at + timedelta(seconds=max(2.0, len(sound) / SAMPLE_RATE)),
                alternatives=tuple(
                    ScoredText(text=text, score=-30 if text == "[unk]" else -2 * n)
                    for n, text in enumerate(texts)
                ),
                second=second,
                decision=decision,
                dialogue_state="listening",
                clip=clip,
            )
        )
        return start_at, None if clip is None else clip.name

    def say(
        self,
        *texts: str,
        confirm: bool = True,
        asked: bool = False,
        second: SecondHeard | None = None,
        sound: NDArray[np.int16] | None = None,
    ) -> int:
        """The first of ``texts`` is said and kept, and confirmed; gives the entry's number."""
        readings = [self.means(text) for text in texts[:2]]
        decision: Decision = Accept(heard=readings[0])
        if asked:
            decision = AskBetween(first=readings[0], second=readings[1])
        start_at, clip = self.hear(decision, *texts, "[unk]", second=second, sound=sound)
        meaning = readings[0].meaning
        assert isinstance(meaning, Statement | Several)
        statements = meaning.statements if isinstance(meaning, Several) else (meaning,)
        kept = [
            self._kept(number, one.entry, texts[0], start_at, clip)
            for number, one in enumerate(statements, self.journal.next_number)
        ]
        if len(kept) == 1:
            self.journal.append(kept[0])
        else:
            self.journal.append(Together(at=start_at, parts=tuple(kept)))
        for one in kept if confirm else ():
            self.journal.append(Confirmed(at=start_at, number=one.number))
        return kept[0].number

    def note(self, sound: NDArray[np.int16] | None = None) -> int:
        """Free words, of which only the sound is kept."""
        heard = HeardWords(text="", meaning=Statement(entry=SpokenNote()))
        start_at, clip = self.hear(Accept(heard=heard), sound=sound)
        kept = self._kept(self.journal.next_number, SpokenNote(), "", start_at, clip)
        self.journal.append(kept)
        return kept.number

    def pass_over(self) -> None:
        """Other talk, something that was not made out, and a word to the program."""
        self.hear(NotForUs(), "[unk]")
        self.hear(NotUnderstood(doubt=Doubt.CLOSE), "drained six mils", "drained sixty mils")
        self.hear(Accept(heard=HeardWords(text="total out", meaning=Command(talk=Talk.TOTAL_OUT))))

    def end(self, minute: float | None = None) -> Path:
        """End the leg, at once or so late, and let its journal go; gives its folder."""
        when = self._when
        last = (self._said + 1) * when.apart if minute is None else timedelta(minutes=minute)
        self.journal.append(LegEnded(at=when.start + last))
        self.journal.close()
        return self.folder

    def means(self, text: str) -> HeardWords:
        """What ``text`` is understood as."""
        (meaning,) = load_grammar().parse(text, self._when.settings)
        return HeardWords(text=text, meaning=meaning)

    def _kept(
        self, number: int, entry: Entry, text: str, start_at: datetime, clip: str | None
    ) -> Kept:
        return Kept(
            at=start_at,
            number=number,
            entry=entry,
            heard=text,
            spoken_at=start_at,
            happened_at=start_at,
            clip=clip,
        )


def desk_leg(root: Path, until: float | None = None) -> Path:
    """A leg with one of everything that the desk looks at, which ends at minute 11; gives its folder.

    Entries: 1 pressure 14; 2 fentanyl 50, asked about; 3 pressure 15, never confirmed; 4 a note; 5 heart
    rate 88 and 6 pressure 16 in one breath; 7 pressure 17; 8 pressure 40, far from the others. Then other
    talk, something that was not made out, and a question.
    """
    flight = Flight(root)
    flight.say("pressure fourteen", "pressure forty")
    flight.say("fentanyl fifty micrograms", "fentanyl fifteen micrograms", asked=True)
    flight.say("pressure fifteen", confirm=False)
    flight.note()
    flight.say("heart rate eighty eight pressure sixteen", "heart rate eighty eight pressure sixty")
    flight.say("pressure seventeen")
    flight.say("pressure forty one")
    flight.pass_over()
    return flight.end(until)
