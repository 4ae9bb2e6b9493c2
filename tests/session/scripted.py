"""A session whose sound is made up: what is said is written down in the test."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np

from tests.meaning.acceptors import accepts
from voice.dialogue.actions import Tone
from voice.dialogue.words import GrammarWords
from voice.entries.heard import SAMPLE_RATE, Alternative, Block, Hearing
from voice.entries.leg import LegSettings
from voice.hearing.echo import EchoCanceller
from voice.hearing.segmenter import Segmenter, joined
from voice.meaning.checklist import load_checklists
from voice.meaning.decision import (
    Accept,
    AskBetween,
    Decision,
    Doubt,
    Heard,
    NotForUs,
    NotUnderstood,
)
from voice.meaning.grammar import load_grammar
from voice.meaning.interrupting import interruptions
from voice.record.shelf import load
from voice.session.barge_in import BargeIn
from voice.session.ears import Ears
from voice.session.keeper import Keeper, Origin
from voice.session.mouth import DEAF_AFTER_S, Mouth, Silent
from voice.session.patience import patience_s
from voice.session.progress import Progress, Sounded, Spoken
from voice.session.session import Session
from voice.speech.waveform import Waveform

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

    from voice.capture.source import SourceError
    from voice.entries.heard import Segment
    from voice.entries.leg import Leg
    from voice.meaning.grammar import Grammar
    from voice.meaning.listening import Listening
    from voice.record.journal import Journal
    from voice.session.attention import Attention
    from voice.session.mouth import Player

ZERO_AT = datetime(2030, 5, 1, 12, tzinfo=UTC)
BLOCK = 512
GRAMMAR = load_grammar()
INTERRUPTIONS = interruptions(GRAMMAR)
SETTINGS = LegSettings()
OTHER_TALK = Alternative("[unk]", 0.0)
MUMBLED = "mumbled"
"""What is said to the program and not made out."""
BROKEN_OFF = " …"
"""Stands at the end of a phrase that broke off."""
WORD_S = 1.0
"""How long the program speaks, whatever it says."""


@dataclass(frozen=True)
class Said:
    """Something said: a phrase, "a/b" for two that cannot be told apart, "a …" for one that broke off, or other talk."""

    text: str
    at_s: float = 0.0
    """Not before then, and not before the program has done speaking."""
    lasts_s: float = 1.0
    pause_s: float = 0.8
    """Silence after it before anything else happens."""
    barges_in: bool = False
    """Whether it is said while the program speaks."""


@dataclass
class Script:
    """What happens, as a source of sound; failures stand in between."""

    events: list[Said | SourceError]
    mouth: Mouth | None = None
    now_s: float = 0.0
    said: list[tuple[float, str]] = field(default_factory=list)
    """When what was said."""

    def blocks(self) -> Iterator[Block]:
        """Loud sound where something is said, silence around it."""
        while self.events:
            event = self.events.pop(0)
            if not isinstance(event, Said):
                raise event
            while not event.barges_in and (
                self.now_s < event.at_s or self.now_s < self._speaking_until_s()
            ):
                self.now_s = max(event.at_s, self._speaking_until_s(), self.now_s)
                yield from self._sound(0, 0.3)
            yield from self._sound(0, 0.3)
            self.said.append((self.now_s, event.text))
            yield from self._sound(9000, event.lasts_s)
            yield from self._sound(0, event.pause_s)

    def _speaking_until_s(self) -> float:
        assert self.mouth is not None
        return self.mouth.deaf_until_s

    def _sound(self, level: int, duration_s: float) -> Iterator[Block]:
        for _ in range(round(duration_s * SAMPLE_RATE / BLOCK)):
            block = Block(self.now_s, np.full(BLOCK, level, dtype=np.int16))
            self.now_s = block.end_s
            yield block


class LoudIsSpeech:
    """A voice detector for scripted sound."""

    def probability(self, frame: NDArray[np.int16]) -> float:
        """Loud is speech."""
        return float(np.abs(frame).max() > 1000)

    def reset(self) -> None:
        """It remembers nothing."""


class ScriptedEars(Ears):
    """Hears what the script says, if it is legal."""

    def __init__(self, script: Script, grammar: Grammar = GRAMMAR) -> None:
        super().__init__({}, grammar, SETTINGS)
        self._script = script

    def make_out(self, segment: Segment, listening: Listening) -> tuple[Hearing, Decision]:
        """Read from the script what was said last in it."""
        text = [text for start_s, text in self._script.said if start_s < segment.end_s][-1]
        if text == "crash":
            raise RuntimeError("the recogniser is gone")
        hearing, decision = self._read(text, listening)
        if segment.cut and not isinstance(decision, NotForUs):
            return Hearing(()), NotUnderstood(doubt=Doubt.CUT)
        return hearing, decision

    def together(
        self, first: Segment, rest: Segment, listening: Listening
    ) -> tuple[Segment, Hearing, Decision]:
        """What was said in the two, as one phrase."""
        segment = joined(first, rest)
        texts = [
            text
            for at_s, text in self._script.said
            if any(one.start_s <= at_s < one.end_s for one in (first, rest))
        ]
        if "crash" in texts:
            raise RuntimeError("the recogniser is gone")
        whole = " ".join(text.removesuffix(BROKEN_OFF) for text in texts)
        if texts[-1].endswith(BROKEN_OFF) and not self._grammar.parse(whole, SETTINGS, listening):
            whole += BROKEN_OFF
        return segment, *self._read(whole, listening)

    def _read(self, text: str, listening: Listening) -> tuple[Hearing, Decision]:
        if text.endswith(BROKEN_OFF):
            beginning = Alternative(text.removesuffix(BROKEN_OFF), score_of(text))
            unfinished = NotUnderstood(doubt=Doubt.UNFINISHED)
            return Hearing((OTHER_TALK,), beginnings=(beginning,)), unfinished
        if text == MUMBLED:
            return Hearing((OTHER_TALK,)), NotUnderstood(doubt=Doubt.FAINT)
        heard = [
            Heard(text=part, meaning=meaning)
            for part in text.split("/")
            for meaning in self._grammar.parse(part, SETTINGS, listening)
        ]
        alternatives = (
            *(Alternative(one.text, score_of(one.text) - n) for n, one in enumerate(heard)),
            OTHER_TALK,
        )
        match heard:
            case [one]:
                return Hearing(alternatives), Accept(heard=one)
            case [one, two]:
                return Hearing(alternatives), AskBetween(first=one, second=two)
        return Hearing((OTHER_TALK,)), NotForUs()

    def patience_s(self, segment: Segment, listening: Listening) -> float:
        """By what the script says."""
        return patience_s(*self.make_out(segment, listening), self._grammar, listening)

    def likely(self, segment: Segment, listening: Listening) -> tuple[Hearing, Decision]:
        """What the script says."""
        return self.make_out(segment, listening)


def score_of(text: str) -> float:
    """As far before other talk, the longer."""
    return 10.0 * len(text.removesuffix(BROKEN_OFF).split())


class NoEcho(EchoCanceller):
    """There is no echo, or one of which little was left; and how that is, is known from the start or never."""

    def __init__(self, *, learned: bool = True, removed_db: float = -99.0) -> None:
        self._removed_db = removed_db
        self._knows = learned

    @property
    def learned(self) -> bool:
        """As was told."""
        return self._knows

    def removed_db(self, from_s: float, to_s: float) -> float:
        """As was told, at any time."""
        assert from_s < to_s
        return self._removed_db

    def clean(self, block: Block) -> Block:
        """As it came."""
        return block


class FirstWords:
    """Hears the word that is said over us; of more words the first, until the second is said."""

    def __init__(self, script: Script) -> None:
        self._script = script

    def hear(self, segment: Segment) -> Hearing:
        """By the script."""
        text = [text for start_s, text in self._script.said if start_s < segment.end_s][-1]
        if text == "crash":
            raise RuntimeError("the recogniser is gone")
        begun = " ".join(
            text.split()[: 1 if segment.speech_end_s - segment.start_s < 0.7 else None]
        )
        score = 20.0 if accepts(INTERRUPTIONS, begun) else -20.0
        return Hearing((Alternative(begun, score), OTHER_TALK))


class ScriptedVoice:
    """Speaks as long whatever it says, unless it is made to fail."""

    fails: Exception | None = None

    def __init__(self, lasts_s: float = WORD_S) -> None:
        self._samples = np.full(round(lasts_s * SAMPLE_RATE), 5000, dtype=np.int16)

    def speak(self, text: str) -> Waveform:
        """So much sound."""
        if self.fails is not None and text:
            raise self.fails
        return Waveform(self._samples, SAMPLE_RATE)


@dataclass
class Sitting:
    """A scripted session and all that it told."""

    root: Path
    events: list[Said | SourceError]
    journal: Journal | None = None
    voice: ScriptedVoice = field(default_factory=ScriptedVoice)
    player: Player = field(default_factory=Silent)
    attention: Attention | None = None
    live: bool = False
    """Whether time goes on by itself, as a microphone's does: it does while the session sleeps."""
    grammar: Grammar = GRAMMAR
    over: EchoCanceller | None = None
    """Takes our own voice out, so that we listen while we speak; ``None``: we are deaf then."""
    progress: list[Progress] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.script = script = Script(self.events)
        script.mouth = self.mouth = Mouth(self.voice, self.player)
        origin = Origin(self.root, SETTINGS, grammar_digest="g", model_digest="m")
        self.keeper = Keeper(origin, self.journal)
        self.slept_s: list[float] = []
        over = None
        if self.over is not None:
            over = BargeIn(self.over, Segmenter(LoudIsSpeech()), FirstWords(script))
        self.session = Session(
            source=script,
            segmenter=Segmenter(LoudIsSpeech()),
            ears=ScriptedEars(script, self.grammar),
            words=GrammarWords(SETTINGS, GRAMMAR, load_checklists(GRAMMAR, SETTINGS)),
            mouth=self.mouth,
            keeper=self.keeper,
            zero_at=ZERO_AT,
            clock=(lambda: script.now_s) if self.live else None,
            attention=self.attention,
            barge_in=over,
            sleep=self._sleep,
        )

    def _sleep(self, for_s: float) -> None:
        self.slept_s.append(for_s)
        if self.live:
            self.script.now_s += for_s

    def run(self) -> Sitting:
        """Let it all happen."""
        self.progress.extend(self.session.run())
        return self

    @property
    def spoken(self) -> list[str]:
        """All texts and tones, in order."""
        return [
            one.text if isinstance(one, Spoken) else f"({one.tone})"
            for one in self.progress
            if isinstance(one, Spoken | Sounded)
        ]

    def leg(self) -> Leg:
        """The leg as it was kept."""
        return load(self.keeper.folder)


def says(*texts: str | Said | SourceError) -> list[Said | SourceError]:
    """A script of texts, one after the other."""
    return [Said(text) if isinstance(text, str) else text for text in texts]


__all__ = ["DEAF_AFTER_S", "Said", "Sitting", "Tone", "says"]
