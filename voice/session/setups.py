"""Sessions put together: for a live microphone, and for recordings in its place."""

from __future__ import annotations

import gc
import hashlib
import time
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from voice.capture.keyboard import TerminalKeys
from voice.capture.microphone import Microphone
from voice.capture.recordings import Cue, Pace, Recordings
from voice.capture.speaker import Speaker, SpeakerError
from voice.dialogue.words import GrammarWords
from voice.entries.leg import LegSettings
from voice.hearing.echo import EchoCanceller
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import SileroVad
from voice.meaning.checklist import load_checklists
from voice.meaning.drug_list import FOR_PRESSURE
from voice.meaning.handoff import load_needs
from voice.record.places import legs_root, spare_root
from voice.report.answers.asking import Programme
from voice.session.attention import Always, Attention, Called, Pressed, Way
from voice.session.attention_word import attention_word
from voice.session.barge_in import BargeIn
from voice.session.ears import Ears
from voice.session.keeper import Keeper, Origin
from voice.session.mixdown import Mixdown
from voice.session.models import Model, chosen_model
from voice.session.mouth import Aloud, Mouth, Player, Silent
from voice.session.own_phrases import checklist_folders, chosen_grammar, handoff_lists
from voice.session.preferences import Preferences, Style
from voice.session.session import Session
from voice.session.uptime import uptime_s
from voice.speech.synthesiser import system_synthesiser

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import datetime
    from pathlib import Path

    from voice.hearing.echo import Known
    from voice.meaning.grammar import Grammar
    from voice.record.journal import Journal
    from voice.session.beside import Beside
    from voice.speech.synthesiser import Synthesiser


@dataclass(frozen=True)
class Equipment:
    """What every session needs, whatever its sound comes from."""

    root: Path = field(default_factory=legs_root)
    spare_root: Path | None = field(default_factory=spare_root)
    settings: LegSettings = field(default_factory=LegSettings)
    model: Model = field(default_factory=chosen_model)
    grammar: Grammar = field(default_factory=chosen_grammar)
    preferences: Preferences = field(default_factory=Preferences)
    second: Beside | None = None
    """The second listener (`voice.session.second_listener`)."""

    @cached_property
    def listened(self) -> Grammar:
        """The phrases as they are listened for: behind the attention word, where one was chosen.

        Raises ``AttentionWordError`` where it cannot be one.
        """
        if self.preferences.attention is not Way.WORD:
            return self.grammar
        word = attention_word(self.preferences.word, self.grammar, self.model)
        return self.grammar.guarded(word)

    def ears(self) -> Ears:
        """Load the model; raises ``LegbookError`` where it is damaged."""
        ears = Ears.load(self.model, self.listened, self.settings, self.second)
        gc.collect()  # what compiling and parsing left behind would be held for the whole leg: 7 MB
        return ears

    def barge_in(self, known: Known) -> BargeIn:
        """Its ear while it speaks itself; ``known`` tells what is played."""
        listener = self.model.interruptions(self.listened)
        return BargeIn(EchoCanceller(known), Segmenter(SileroVad()), listener)

    def attention(self) -> Attention:
        """Whom it listens to; raises ``KeyboardError`` where a button was chosen and there is none."""
        if self.preferences.attention is Way.BUTTON:
            return Pressed(TerminalKeys())
        word = self.listened.attention
        return Always() if word is None else Called(word)

    def synthesiser(self) -> Synthesiser:
        """Its voice; raises ``SpeechError`` where there is none."""
        return system_synthesiser(self.preferences.manner)

    def mouth(self, player: Player, mixdown: Mixdown | None = None) -> Mouth:
        """What speaks, as loud as was chosen; raises ``SpeechError`` where it has no voice."""
        volume_percent = self.preferences.manner.volume_percent
        return Mouth(self.synthesiser(), player, mixdown, volume_percent=volume_percent)

    def origin(self) -> Origin:
        """Where legs are kept and what is noted at their start."""
        drugs = {
            "antibiotics": self.grammar.drugs_of("antibiotic"),
            "pressure_drugs": self.grammar.drugs_of(*FOR_PRESSURE),
        }
        return Origin(
            root=self.root,
            settings=self.settings.model_copy(update=drugs),
            grammar_digest=self.listened.digest,
            model_digest=model_digest(self.model.folder),
            spare_root=self.spare_root,
        )

    def words(self) -> GrammarWords:
        """The read-backs."""
        lists = load_checklists(self.grammar, self.settings, *checklist_folders())
        long = self.preferences.style is Style.LONG
        return GrammarWords(self.settings, self.grammar, lists, long=long)

    def programme(self) -> Programme:
        """What questions about the leg are answered with."""
        return Programme(self.grammar, load_needs(*handoff_lists()))


def live(
    equipment: Equipment,
    now: Callable[[], datetime],
    *,
    microphone: str | None = None,
    speaker: str | None = None,
    journal: Journal | None = None,
) -> Session:
    """A session with microphone and speaker, each a part of its name or what was chosen on this machine.

    ``now`` is the clock on the wall (aware); it is read once. ``journal`` is that of a leg to go on with.

    Raises ``SpeakerError`` where there is no speaker: nothing could be read back.
    """
    ears = equipment.ears()
    keeper = Keeper(equipment.origin(), journal)
    chosen = equipment.preferences
    began_s, zero_at = uptime_s(), now()

    def clock() -> float:
        return uptime_s() - began_s

    # made at once: its time begins with it, and is to be the clock's
    source = Microphone(microphone or chosen.microphone, clock)
    if journal is not None:
        zero_at = keeper.go_on(zero_at)
    player = Aloud(lambda: Speaker(speaker or chosen.speaker, clock), clock)
    return Session(
        source=source,
        segmenter=Segmenter(SileroVad()),
        ears=ears,
        words=equipment.words(),
        programme=equipment.programme(),
        mouth=equipment.mouth(player),
        keeper=keeper,
        zero_at=zero_at,
        clock=clock,
        attention=equipment.attention(),
        barge_in=equipment.barge_in(player),
    )


def recorded(
    equipment: Equipment,
    recordings: Iterable[Cue | Path],
    started_at: datetime,
    *,
    pace: Pace = Pace.FAST,
    mixdown_file: Path | None = None,
) -> Session:
    """A session with recordings as its microphone.

    ``started_at`` (aware) is the moment at which the first would begin. In real time it speaks
    where there is a speaker. ``mixdown_file`` is to hold how it all sounded.

    Raises ``MixdownError`` where that file cannot be written.
    """
    mixdown = None if mixdown_file is None else Mixdown(mixdown_file)
    mouth = equipment.mouth(_player(pace), mixdown)
    return Session(
        source=Recordings(recordings, pace=pace, speaking_until=lambda: mouth.deaf_until_s),
        segmenter=Segmenter(SileroVad()),
        ears=equipment.ears(),
        words=equipment.words(),
        programme=equipment.programme(),
        mouth=mouth,
        keeper=Keeper(equipment.origin()),
        zero_at=started_at,
        mixdown=mixdown,
        attention=equipment.attention(),
    )


def _player(pace: Pace) -> Player:
    if pace is Pace.FAST:
        return Silent()
    try:
        return Aloud(lambda: Speaker(None, time.monotonic), time.monotonic)
    except SpeakerError:
        return Silent()


def model_digest(folder: Path) -> str:
    """Which acoustic model it is: SHA-256 over the names and contents of its files."""
    digest = hashlib.sha256()
    for file in sorted(path for path in folder.rglob("*") if path.is_file()):
        digest.update(file.relative_to(folder).as_posix().encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()
