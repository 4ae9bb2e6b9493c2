"""The loop of a leg: sound in, entries kept, words out.

Everything happens on one thread, in the order of the sound; its time is the source's. What the
talk asks for is written to the journal first. Only if that succeeded is it spoken of.
"""

from __future__ import annotations

import time
from contextlib import suppress
from datetime import timedelta
from typing import TYPE_CHECKING

from voice.capture.microphone import MicrophoneError
from voice.capture.source import SourceError
from voice.dialogue.actions import (
    Action,
    Confirm,
    EndLeg,
    Keep,
    Record,
    Say,
    Sound,
    StartLeg,
    Tone,
    Withdraw,
)
from voice.dialogue.events import (
    Event,
    FellSilent,
    Mute,
    NoteHeard,
    OtherSpeech,
    TimePassed,
    Trouble,
    TwoHeard,
    decision_as_event,
)
from voice.dialogue.machine import step
from voice.dialogue.state import DialogueState, StateName
from voice.entries.errors import LegbookError
from voice.entries.heard import Block, Hearing
from voice.entries.kinds.leg import SpokenNote
from voice.entries.said import Statement
from voice.hearing.segmenter import HANGOVER_S
from voice.meaning.decision import Accept, Decision, Doubt, Heard, NotUnderstood
from voice.record.errors import JournalError
from voice.report.answers.asking import Programme
from voice.session.attention import Always
from voice.session.falling_in import FallingIn, PassedOver, TooSoon
from voice.session.free_note import FreeNote
from voice.session.keeper import Utterance
from voice.session.lost_sound import SPOKEN, LostSound
from voice.session.progress import (
    InTrouble,
    LegBegan,
    LegOver,
    MinutePassed,
    Progress,
    SegmentHeard,
    Sounded,
    Spoken,
    Written,
)
from voice.session.reminders import Reminders
from voice.session.turn import turn_of

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterator, Sequence
    from datetime import datetime

    from voice.capture.source import Source
    from voice.dialogue.words import Words
    from voice.entries.heard import Segment
    from voice.entries.leg import Leg
    from voice.hearing.segmenter import Segmenter
    from voice.meaning.listening import Listening
    from voice.session.attention import Attention
    from voice.session.barge_in import BargeIn
    from voice.session.ears import Ears
    from voice.session.keeper import Keeper
    from voice.session.lost_sound import Loss
    from voice.session.mixdown import Mixdown
    from voice.session.mouth import Mouth

LOOK_AGAIN_S = 1.0
"""How often a microphone that has gone is looked for."""


class Session:
    """One sitting: legs are started and ended in it by voice."""

    def __init__(  # noqa: PLR0913 - the parts are put together in ``setups``
        self,
        *,
        source: Source,
        segmenter: Segmenter,
        ears: Ears,
        words: Words,
        mouth: Mouth,
        keeper: Keeper,
        zero_at: datetime,
        clock: Callable[[], float] | None = None,
        mixdown: Mixdown | None = None,
        attention: Attention | None = None,
        barge_in: BargeIn | None = None,
        programme: Programme | None = None,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        """Put the parts together.

        ``zero_at`` (aware) is the moment of 0 s on the source's clock. ``clock`` is that clock
        where it goes on by itself, as a microphone's does; without it, time is that of the last
        sound. A ``keeper`` with a running leg goes on with that leg. Without ``attention``
        everybody is listened to; without ``barge_in`` nobody is
        while we speak; without a ``programme`` questions are answered as shipped.
        """
        self._source = source
        self._segmenter = segmenter
        self._ears = ears
        self._words = words
        self._mouth = mouth
        self._keeper = keeper
        self._zero_at = zero_at
        self._clock = clock
        self._mixdown = mixdown
        self._attention = attention or Always()
        self._falling_in = FallingIn(mouth, barge_in)
        self._programme = programme or Programme()
        self._sleep = sleep
        self._state = DialogueState.resumed(keeper.leg()) if keeper.running else DialogueState()
        self._heard_s = 0.0  # end of the last sound
        self._ended = False  # whether the source has
        self._lost = False  # whether the microphone has gone
        self._lost_sound = LostSound()
        self._note = FreeNote()
        self._asked: Utterance | None = None  # what the open question is about
        self._reminders = Reminders()
        self._told: set[str] = set()  # sentences that need not be said twice
        self._progress: list[Progress] = []

    @property
    def state(self) -> StateName:
        """Where the talk stands."""
        return self._state.name

    @property
    def leg(self) -> Leg | None:
        """The leg that runs, as it stands; ``None`` where none does."""
        return self._keeper.leg() if self._keeper.running else None

    def run(self) -> Generator[Progress]:
        """Listen and talk until the source ends; what happens is told as it happens.

        Raises ``MicrophoneError`` where there is no microphone from the start. One that goes later
        is told aloud and waited for.
        """
        try:
            self._utter((Sound(Tone.HEARD),))
            if self._attention.notice:
                self._utter((Say(self._attention.notice),))
            if self._keeper.running:
                self._utter((Say("the leg goes on"),))
            yield from self._news()
            while not self._ended:
                try:
                    for block in self._source.blocks():
                        self._take(block)
                        yield from self._news()
                    self._ended = True
                except SourceError as error:
                    self._lose(error)
                yield from self._news()
            self._finish()
            yield from self._news()
        finally:
            self._keeper.close()
            self._mouth.close()
            self._attention.close()
            if self._mixdown is not None:
                self._mixdown.close()

    # --- sound in --------------------------------------------------------------------------------

    def _lose(self, error: SourceError) -> None:
        """Sound has stopped coming: tell it once, and wait before a microphone is tried again."""
        if not isinstance(error, MicrophoneError):
            self._trouble(str(error))
            return
        if self._heard_s == 0.0:
            raise error
        if not self._lost:
            self._lost = True
            self._trouble(str(error))
        self._sleep(LOOK_AGAIN_S)

    def _take(self, block: Block) -> None:
        if self._mixdown is not None:
            self._mixdown.heard(block)
        if block.end_s // 60 != self._heard_s // 60:
            self._tell(MinutePassed(self._at(block.end_s)))
        self._heard_s = block.end_s
        if self._lost:
            self._lost = False
            self._trouble("The microphone is back.")
        if loss := self._lost_sound.after(block):
            self._tell_loss(loss)
        if self._is_open(block.end_s):
            self._listen(block)
        if self._segmenter.in_speech or block.end_s < self._mouth.deaf_until_s:
            return
        if not self._note:
            self._happen(TimePassed(), block.end_s)
            self._remind(block.end_s)
        elif self._note.over(block.end_s):
            self._end_note()

    def _listen(self, block: Block) -> None:
        block = self._falling_in.clean(block)
        said = self._falling_in.fallen_in(block, self._state.name, self._now_s())
        if said is not None:
            self._state, _ = step(self._state, FellSilent(), self._now_s(), self._words)
            self._segmenter.listen()
            block = Block(said.start_s, said.samples)
        for segment in self._segmenter.feed(block, self._patience_s):
            self._hear(segment)
        if said is None and not self._segmenter.in_speech:
            self._say(self._falling_in.nothing_came())

    def _is_open(self, at_s: float) -> bool:
        """Whether sound is let in; a note is let in to its end."""
        in_speech = self._segmenter.in_speech
        tone = self._attention.look(at_s, self._mouth.deaf_until_s, in_speech=in_speech)
        if tone is not None:
            self._utter((Sound(tone),))
        return self._attention.open or self._state.name is StateName.NOTING

    def _finish(self) -> None:
        """The source has ended: take what is left of it."""
        for segment in self._segmenter.flush():
            self._hear(segment)
        if self._note:
            self._end_note()

    def _hear(self, segment: Segment) -> None:
        listening = self._state.name.listening
        if listening is None:
            self._note.add(segment)
            if self._note.full:
                self._end_note()
            return
        hearing, decision = self._make_out(segment, listening)
        checking = self._state.name is StateName.CHECKING
        match self._falling_in.judge(segment, decision, checking=checking):
            case PassedOver(left=left):
                self._say(left)
                return
            case TooSoon(unheard=unheard):
                self._hold_back(segment, hearing, unheard)
                return
        self._attention.heard(decision)
        text = hearing.alternatives[0].text if hearing.alternatives else ""
        state = self._state.name
        self._tell(SegmentHeard(self._at(segment.start_s), text, decision, state))
        said = Utterance(self._at(segment.start_s))
        ran = self._keeper.running
        ours = state is not StateName.STANDING_BY or isinstance(decision, Accept)
        if ran and ours and self._attention.keeps(decision):
            # what is said while standing by, or to others, is none of the journal's business
            said = self._note_down(segment, hearing, decision, state)
        event = decision_as_event(decision)
        if not isinstance(event, OtherSpeech):
            self._reminders.spoke(segment.speech_end_s)
        if state is StateName.CHOOSING and self._asked is not None:
            said = self._asked
        elif isinstance(event, TwoHeard):
            self._asked = said
        self._happen(event, segment.speech_end_s, said)
        if not ran and self._keeper.running:
            self._note_down(segment, hearing, decision, state)
        self._tell_troubles()

    def _hold_back(
        self, segment: Segment, hearing: Hearing, unheard: tuple[Tone | str, ...]
    ) -> None:
        """It answers what had not been heard yet: not taken, and said again."""
        decision = NotUnderstood(doubt=Doubt.TOO_SOON)
        self._attention.heard(decision)
        text, state = hearing.alternatives[0].text, self._state.name
        self._tell(SegmentHeard(self._at(segment.start_s), text, decision, state))
        if self._keeper.running:
            self._note_down(segment, hearing, decision, state)
        self._say(("not yet", *unheard))
        self._tell_troubles()

    def _make_out(self, segment: Segment, listening: Listening) -> tuple[Hearing, Decision]:
        try:
            return self._ears.make_out(segment, listening)
        except Exception:  # noqa: BLE001 - whatever the recogniser fails of, the leg goes on
            self._trouble("Hearing failed on what was said last. Its sound is kept; say it again.")
            return Hearing(()), NotUnderstood(doubt=Doubt.NO_WORDS)

    def _patience_s(self, segment: Segment) -> float:
        """How much silence ends ``segment``; what fails here fails again, and is told, when it has ended."""
        listening = self._state.name.listening
        if listening is not None:
            with suppress(Exception):
                return self._ears.patience_s(segment, listening)
        return HANGOVER_S

    def _note_down(
        self, segment: Segment, hearing: Hearing, decision: Decision, state: StateName
    ) -> Utterance:
        return self._keeper.note_down(
            segment.samples,
            hearing,
            decision,
            state,
            start_at=self._at(segment.start_s),
            end_at=self._at(segment.end_s),
            now=self._now(),
        )

    def _end_note(self) -> None:
        note, self._note = self._note, FreeNote()
        said = self._keeper.note_down(
            note.samples,
            Hearing(()),
            Accept(heard=Heard(text="", meaning=Statement(entry=SpokenNote()))),
            StateName.NOTING,
            start_at=self._at(note.start_s),
            end_at=self._at(note.end_s),
            now=self._now(),
        )
        self._happen(NoteHeard(), note.speech_end_s, said)
        self._tell_troubles()

    def _remind(self, at_s: float) -> None:
        """Say what is due, one thing at a time, and never into our own words."""
        if at_s < self._mouth.deaf_until_s:
            return
        reminder = self._reminders.due(self._keeper.leg, self._state.name, at_s, self._at(at_s))
        if reminder is not None and not self._happen(reminder, at_s):
            self._reminders.rest(at_s)

    # --- what happens ----------------------------------------------------------------------------

    def _happen(self, event: Event, at_s: float, said: Utterance | None = None) -> bool:
        """Let the talk take its step: write, then speak. What cannot be written did not happen."""
        state, actions = step(self._state, event, at_s, self._words)
        records = [action for action in actions if isinstance(action, Record)]
        try:
            self._keeper.do(records, said or Utterance(self._at(at_s)), self._now())
        except LegbookError as error:
            self._told.add(str(error))
            self._trouble(str(error))
            return False
        for record in records:
            self._tell_written(record)
        if (state.name, state.waiting) != (self._state.name, self._state.waiting):
            self._falling_in.moved_on()
        self._state = state
        self._utter(actions)
        return True

    def _trouble(self, sentence: str) -> None:
        """Tell the nurse, and the journal if it still takes anything."""
        self._tell(InTrouble(self._now(), sentence))
        with suppress(JournalError):
            self._keeper.notice(sentence, self._now())
        self._happen(Trouble(sentence), self._now_s())

    def _tell_loss(self, loss: Loss) -> None:
        """Note lost sound in the journal, and tell the nurse where a phrase may have gone with it."""
        self._tell(InTrouble(self._now(), loss.sentence))
        with suppress(JournalError):
            self._keeper.notice(loss.sentence, self._now())
        if loss.aloud:
            self._happen(Trouble(SPOKEN), self._now_s())

    def _tell_troubles(self) -> None:
        """Tell what the keeper ran into, each once a leg."""
        sentences, self._keeper.troubles = self._keeper.troubles, []
        for sentence in dict.fromkeys(sentences):
            if sentence not in self._told:
                self._told.add(sentence)
                self._trouble(sentence)

    # --- sound out -------------------------------------------------------------------------------

    def _utter(self, actions: tuple[Action, ...]) -> None:
        """Speak what the talk asks for; where that fails, nothing waits to be confirmed."""
        self._say(turn_of(actions, self._keeper.leg, self._now(), self._programme))

    def _say(self, turn: Sequence[Tone | str]) -> None:
        if not turn:
            return
        try:
            self._speak(turn)
        except LegbookError as error:
            self._mute(str(error))

    def _mute(self, sentence: str) -> None:
        self._tell(InTrouble(self._now(), sentence))
        if sentence not in self._told:
            self._told.add(sentence)
            with suppress(JournalError):
                self._keeper.notice(sentence, self._now())
        self._state, actions = step(self._state, Mute(), self._now_s(), self._words)
        with suppress(LegbookError):  # a tone may still come through
            self._speak([action.tone for action in actions if isinstance(action, Sound)])

    def _speak(self, turn: Sequence[Tone | str]) -> None:
        ends_s = self._mouth.utter(turn, self._now_s())
        self._segmenter.deaf_until(self._mouth.deaf_until_s)
        self._state, _ = step(self._state, FellSilent(), ends_s, self._words)
        self._reminders.spoke(ends_s)
        if turn:
            self._falling_in.spoke(turn[-1])
        now = self._now()
        for part in turn:
            self._tell(Sounded(now, part) if isinstance(part, Tone) else Spoken(now, part))

    # --- time and news ---------------------------------------------------------------------------

    def _now_s(self) -> float:
        """Now, on the source's clock."""
        return self._heard_s if self._clock is None else self._clock()

    def _now(self) -> datetime:
        return self._at(self._now_s())

    def _at(self, source_s: float) -> datetime:
        return self._zero_at + timedelta(seconds=source_s)

    def _tell(self, progress: Progress) -> None:
        self._progress.append(progress)

    def _tell_written(self, action: Record) -> None:
        now = self._now()
        match action:
            case StartLeg():
                self._told.clear()
                self._reminders = Reminders()
                self._tell(LegBegan(now, self._keeper.folder))
            case EndLeg():
                self._tell(LegOver(now, self._keeper.folder))
            case Keep() | Confirm() | Withdraw():
                self._tell(Written(now, action))

    def _news(self) -> Iterator[Progress]:
        news, self._progress = self._progress, []
        yield from news
