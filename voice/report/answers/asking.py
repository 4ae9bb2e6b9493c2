"""What every answer is put together with: a leg, the moment at which it is asked, and words."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from functools import cached_property
from typing import TYPE_CHECKING

from voice.figures.consequences import marks, open_states
from voice.figures.rounding import beside
from voice.meaning.aloud import aloud
from voice.meaning.grammar import Grammar, GrammarError, load_grammar
from voice.meaning.handoff import Need, load_needs
from voice.meaning.numbers import clock_words, digit_words, plain
from voice.meaning.readback import read_back
from voice.report.wording import entry_text

if TYPE_CHECKING:
    from datetime import datetime

    from voice.entries.leg import Leg, LegEntry
    from voice.figures.consequences import Sentence
    from voice.meaning.subjects import Subject

MOST_WORDS = 70
"""A part is cut before it has more words: half a minute of speech, in which the nurse cannot be
heard (common practice, no source; a hundred and forty words a minute)."""


@dataclass(frozen=True, slots=True)
class Programme:
    """What a programme says and asks for; as shipped where it has nothing of its own."""

    grammar: Grammar = field(default_factory=load_grammar)
    needs: tuple[Need, ...] = field(default_factory=load_needs)
    """What a handoff has to tell."""


@dataclass(frozen=True)
class Asking:
    """A leg that is asked about at a moment (aware)."""

    leg: Leg
    now: datetime
    programme: Programme = field(default_factory=Programme)

    @cached_property
    def entries(self) -> tuple[LegEntry, ...]:
        """The entries that count, by the time at which they happened."""
        return self.leg.counting()

    def subject(self, name: str | None) -> Subject | None:
        """What is asked about by this name; ``None`` where the grammar has changed since."""
        return self.programme.grammar.subjects.by_name.get(name or "")

    def last(self, subject: Subject) -> LegEntry | None:
        """The latest entry about a subject, by the time at which it happened."""
        return next((e for e in reversed(self.entries) if subject.fits(e.entry)), None)

    @cached_property
    def subjects(self) -> dict[str, list[LegEntry]]:
        """The entries by what they are about, in the order in which the latest of each happened."""
        found: dict[str, list[LegEntry]] = {}
        known = self.programme.grammar.subjects
        for entry in self.entries:
            subject = known.of(entry.entry)
            name = entry.entry.kind if subject is None else subject.name
            about = found.pop(name, [])
            about.append(entry)
            found[name] = about
        return found

    def words(self, entry: LegEntry) -> str:
        """An entry as it is read back."""
        try:
            return read_back(entry.entry, self.leg.settings, self.programme.grammar)
        except GrammarError:  # it was spoken with other phrases
            return aloud(entry_text(entry.entry))

    def told(self, entry: LegEntry) -> str:
        """An entry as it is read back, with whatever makes it doubtful, and when it happened."""
        why = [self._spoken(reason) for reason in self._marks.get(entry.number, ())]
        unsure = [] if entry.confirmed else ["unconfirmed"]
        return ", ".join((self.words(entry), *unsure, *why, self.at(entry.happened_at)))

    def reliable(self, number: int) -> bool:
        """Whether no failed zero stands before this entry."""
        return all(reason.rule != "zero failed" for reason in self._marks.get(number, ()))

    @cached_property
    def open_states(self) -> list[str]:
        """What is open now, in words."""
        return [self._spoken(state) for state in open_states(self.leg, self.now)]

    @cached_property
    def _marks(self) -> dict[int, tuple[Sentence, ...]]:
        return marks(self.leg)

    def _spoken(self, sentence: Sentence) -> str:
        return aloud(sentence.text(self.clock))

    def clock(self, moment: datetime) -> str:
        """A time of day by the leg's clock: "one four two zero"."""
        local = self.leg.local(moment)
        return clock_words(local.hour, local.minute)

    def at(self, moment: datetime) -> str:
        """The same with the word before it: "at one four two zero"."""
        return f"at {self.clock(moment)}"

    def ago(self, moment: datetime) -> str:
        """How long before now it was: "two five minutes ago"."""
        return (
            "just now" if self.now - moment < timedelta(minutes=1) else f"{self.since(moment)} ago"
        )

    def since(self, moment: datetime) -> str:
        """The time from a moment to now; what is still to come counts as now."""
        return duration(max((self.now - moment).total_seconds(), 0.0))


def number(value: float, *limits: float) -> str:
    """A number digit by digit, rounded to tenths, but to more where that would bring it past a limit."""
    return digit_words(plain(beside(value, 1, limits)))


def whole(value: float, *limits: float) -> str:
    """The same without decimals, but with as many as keep it on its side of the limits."""
    return digit_words(plain(beside(value, 0, limits)))


def mils(volume_ml: float, *limits_ml: float) -> str:
    """A volume as it is spoken, rounded as `number` does it."""
    return f"{number(volume_ml, *limits_ml)} mils"


def counted(count: int, one: str, more: str) -> str:
    """How many: "one entry", "one two entries"."""
    return f"{digit_words(count)} {one if count == 1 else more}"


def duration(seconds: float) -> str:
    """A time in hours and minutes, cut to whole ones: "one hour five minutes"."""
    hours, minutes = divmod(int(seconds // 60), 60)
    parts = [counted(hours, "hour", "hours")] if hours else []
    if minutes or not hours:
        parts.append(counted(minutes, "minute", "minutes"))
    return " ".join(parts)


def length(minutes: float) -> str:
    """How long something took, rounded to whole minutes as summary and page have it."""
    return duration(round(minutes) * 60)


def doubt(confirmed: bool) -> str:
    """The word for what was never confirmed aloud."""
    return "" if confirmed else ", unconfirmed"


def in_parts(sentences: list[str]) -> tuple[str, ...]:
    """Sentences in as few parts as `MOST_WORDS` allows; none is cut."""
    parts: list[list[str]] = []
    words = 0
    for sentence in sentences:
        length = len(sentence.split())
        if not parts or words + length > MOST_WORDS:
            parts.append([])
            words = 0
        parts[-1].append(sentence)
        words += length
    return tuple(". ".join(part) for part in parts)
