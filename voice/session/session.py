"""The loop of a leg: sound in, to what was said; what then happens is the talk's (``voice.session.talk``).

Everything happens on one thread, in the order of the sound; its time is the source's.
"""

from __future__ import annotations

import time
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING

from voice.capture.microphone import MicrophoneError
from voice.capture.source import SourceError
from voice.dialogue.actions import Say, Sound, Tone
from voice.dialogue.events import (
    ConfirmAndHeard,
    CorrectionHeard,
    HalfHeard,
    NoteHeard,
    OtherSpeech,
    SaidOver,
    SeveralHeard,
    SpeechUnclear,
    StatementHeard,
    TimePassed,
    TwoHeard,
    WholeHeard,
    decision_as_event,
)
from voice.dialogue.state import StateName
from voice.entries.heard import Block, Hearing
from voice.entries.kinds.leg import SpokenNote
from voice.entries.leg import EntryState
from voice.entries.said import Statement
from voice.hearing.segmenter import HANGOVER_S, HEADLESS_S
from voice.meaning.decision import (
    Accept,
    AskBetween,
    Decision,
    Doubt,
    Heard,
    NotForUs,
    NotUnderstood,
)
from voice.meaning.numbers import digit_words
from voice.report.answers.asking import Programme
from voice.session.attention import Always
from voice.session.behind import BEHIND_S, Behind
from voice.session.falling_in import ASKING, FallingIn, Missed, PassedOver, TooSoon
from voice.session.free_note import FreeNote
from voice.session.joining import JOIN_S, UNFINISHED, Joining, Part
from voice.session.keeper import Utterance
from voice.session.lost_sound import LostSound
from voice.session.progress import MinutePassed, Progress, SegmentHeard
from voice.session.source_clock import SourceClock
from voice.session.talk import Talk

if TYPE_CHECKING:
    from collections.abc import Callable, Generator
    from datetime import datetime

    from voice.capture.source import Source
    from voice.dialogue.events import Event
    from voice.dialogue.words import Words
    from voice.entries.heard import Segment
    from voice.entries.leg import Leg
    from voice.hearing.segmenter import Segmenter
    from voice.meaning.listening import Listening
    from voice.session.attention import Attention
    from voice.session.barge_in import BargeIn
    from voice.session.ears import Ears
    from voice.session.keeper import Keeper
    from voice.session.mixdown import Mixdown
    from voice.session.mouth import Mouth

OVER_US = NotUnderstood(doubt=Doubt.OVER_US)
KEPT = StatementHeard | SeveralHeard | CorrectionHeard | ConfirmAndHeard | WholeHeard
"""Events of which an entry is kept."""
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
        sound. A ``keeper`` with a running leg goes on with that leg. Without ``attention`` everybody
        is listened to; without ``barge_in`` nobody is while we speak; without a ``programme``
        questions are answered as shipped.
        """
        self._source = source
        self._segmenter = segmenter
        self._ears = ears
        self._mouth = mouth
        self._keeper = keeper
        self._clock = SourceClock(zero_at, clock)
        self._mixdown = mixdown
        self._attention = attention or Always()
        self._falling_in = FallingIn(mouth, barge_in)
        self._sleep = sleep
        self._talk = Talk(
            keeper=keeper,
            mouth=mouth,
            words=words,
            programme=programme or Programme(),
            clock=self._clock,
            segmenter=segmenter,
            falling_in=self._falling_in,
        )
        self._ended = False  # whether the source has
        self._lost = False  # whether the microphone has gone
        self._lost_sound = LostSound()
        self._behind = Behind()
        self._note = FreeNote()
        self._asked: Utterance | None = None  # what the open question is about
        self._joining = Joining(ears)

    @property
    def state(self) -> StateName:
        """Where the talk stands."""
        return self._talk.state

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
            self._talk.utter(Sound(Tone.HEARD))
            if self._attention.notice:
                self._talk.utter(Say(self._attention.notice))
            if self._keeper.running:
                self._talk.utter(Say(_goes_on(self._keeper.leg())))
                self._talk.keepers_troubles()
            yield from self._talk.news()
            while not self._ended:
                try:
                    for block in self._source.blocks():
                        self._take(block)
                        yield from self._talk.news()
                    self._ended = True
                except SourceError as error:
                    self._lose(error)
                yield from self._talk.news()
            self._finish()
            yield from self._talk.news()
        finally:
            self._keeper.close()
            self._mouth.close()
            self._attention.close()
            if self._mixdown is not None:
                self._mixdown.close()

    def _lose(self, error: SourceError) -> None:
        """Sound has stopped coming: tell it once, and wait before a microphone is tried again.

        What is due meanwhile is said all the same: the drain does not wait for a microphone.
        """
        if not isinstance(error, MicrophoneError):
            self._talk.trouble(str(error))
            return
        if self._clock.heard_s == 0.0:
            raise error
        if not self._lost:
            self._lost = True
            for segment in self._segmenter.flush():
                self._hear(segment)
            self._talk.trouble(str(error))
        self._sleep(LOOK_AGAIN_S)
        self._pass_time(self._clock.now_s())

    def _take(self, block: Block) -> None:
        if self._mixdown is not None:
            self._mixdown.heard(block)
        if block.end_s // 60 != self._clock.heard_s // 60:
            self._talk.tell(MinutePassed(self._clock.at(block.end_s)))
        self._clock.heard_s = block.end_s
        if self._lost:
            self._lost = False
            self._talk.trouble("The microphone is back.")
        if loss := self._lost_sound.after(block):
            self._talk.lost(loss)
        self._tell_delay(block.end_s)
        if self._mouth.slipped(block.end_s):
            self._segmenter.deaf_until(self._mouth.deaf_until_s)
        if self._is_open(block.end_s):
            self._listen(block)
        self._pass_time(block.end_s)

    def _pass_time(self, at_s: float) -> None:
        """Do what is due while nobody speaks, with a microphone or without."""
        if self._segmenter.in_speech or at_s < self._mouth.deaf_until_s:
            return
        if self._joining.due(at_s):
            self._tell_half()
        if not self._note:
            self._talk.happen(TimePassed(), at_s)
            self._talk.remind(at_s)
        elif self._note.over(at_s):
            self._end_note()

    def _tell_delay(self, at_s: float) -> None:
        late_s = self._clock.late_s
        if over := self._behind.caught_up(late_s):
            self._talk.notice(over)
        if sentence := self._behind.aloud(at_s, late_s):
            self._talk.trouble(sentence)

    def _listen(self, block: Block) -> None:
        block = self._falling_in.clean(block)
        said = self._falling_in.fallen_in(
            block, self._talk.state, self._clock.now_s(), self._goes_on
        )
        if said is not None:
            self._talk.cut_off()
            self._segmenter.listen()
            block = Block(said.start_s, said.samples)
        while (over := self._falling_in.said_over()) is not None:
            self._hear_over(over)
        for segment in self._segmenter.feed(block, self._patience_s):
            self._hear(segment)
        if said is None and not self._segmenter.in_speech:
            self._talk.say(self._falling_in.nothing_came())

    def _is_open(self, at_s: float) -> bool:
        """Whether sound is let in; a note is let in to its end."""
        in_speech = self._segmenter.in_speech
        tone = self._attention.look(at_s, self._mouth.deaf_until_s, in_speech=in_speech)
        if tone is not None:
            self._talk.utter(Sound(tone))
        return self._attention.open or self._talk.state is StateName.NOTING

    def _finish(self) -> None:
        """The source has ended: take what is left of it."""
        for segment in self._segmenter.flush():
            self._hear(segment)
        self._tell_half()
        if self._note:
            self._end_note()

    def _hear(self, segment: Segment) -> None:
        listening = self._talk.state.listening
        if listening is None:
            self._note.add(segment)
            if self._note.full:
                self._end_note()
            return
        hearing, decision = self._make_out(segment, listening)
        if isinstance(decision, NotForUs) and self._began_over_us(segment):
            decision = NotUnderstood(doubt=Doubt.CUT)
        state = self._talk.state
        whole = self._whole(segment, hearing, decision)
        part = whole or Part(
            segment, hearing, decision, listening, until_s=segment.speech_end_s + JOIN_S
        )
        match self._falling_in.judge(
            segment, decision, state, goes_on=whole is not None, confirms_and=part.confirms_and
        ):
            case PassedOver(left=left):
                self._talk.say(left)
                return
            case TooSoon(unheard=unheard):
                self._hold_back(segment, hearing, unheard)
                return
            case Missed() as missed:
                self._tell_missed(segment, hearing, decision, missed)
                return
        if whole is None and not isinstance(decision, NotForUs):
            self._tell_half(given_up=True)
        self._act_on(part, segment, state)

    def _began_over_us(self, segment: Segment) -> bool:
        """Whether only the end of it was heard, for we spoke, and were deaf, as it began."""
        return segment.cut and 0 <= segment.start_s - self._mouth.deaf_until_s < HEADLESS_S

    def _hear_over(self, segment: Segment) -> None:
        """Something was said over us that did not make us fall silent; if it was for us, tell that it is not taken."""
        listening = self._talk.state.listening
        if listening is None:
            return
        hearing, decision = self._make_out(segment, listening)
        match self._falling_in.judge_over(segment, decision, self._talk.state):
            case Missed() as missed:
                self._tell_missed(segment, hearing, decision, missed)

    def _act_on(self, part: Part, last: Segment, state: StateName) -> None:
        """Do what is to be done on something that was said, of which ``last`` was heard last."""
        segment, hearing, decision = part.segment, part.hearing, part.decision
        self._attention.heard(decision)
        text = hearing.all[0].text if hearing.all else ""
        self._talk.tell(SegmentHeard(self._clock.at(segment.start_s), text, decision, state))
        said = Utterance(self._clock.at(segment.start_s))
        ran = self._keeper.running
        ours = state is not StateName.STANDING_BY or isinstance(decision, Accept)
        if ran and ours and self._attention.keeps(decision):
            # what is said while standing by, or to others, is none of the journal's business
            said = self._note_down(segment, hearing, decision, state, end_s=last.end_s)
        event = _event(part)
        if not isinstance(event, OtherSpeech):
            self._talk.heard_speech(last.speech_end_s)
        if state is StateName.CHOOSING and self._asked is not None:
            said = self._asked
        elif isinstance(event, TwoHeard) or _asks(event):
            self._asked = said
        confirming = state is StateName.CONFIRMING
        if decision != UNFINISHED or state is StateName.ASLEEP:
            before = self._talk.next_number
            self._talk.happen(event, last.speech_end_s, said)
            kept = self._talk.next_number > before and isinstance(event, KEPT)
            part = replace(part, kept=kept, confirmed=False, told=True)
        waits = self._talk.state is StateName.CONFIRMING
        self._joining.heard(part if waits or not part.kept else None, confirming=confirming)
        if not ran and self._keeper.running:
            self._note_down(segment, hearing, decision, state, end_s=last.end_s)
        self._talk.keepers_troubles()

    def _whole(self, rest: Segment, hearing: Hearing, decision: Decision) -> Part | None:
        """What was said last and ``rest`` as one phrase, if they are one."""
        try:
            confirming = self._talk.state is StateName.CONFIRMING
            return self._joining.whole(rest, hearing, decision, confirming=confirming)
        except Exception:  # noqa: BLE001 - whatever the recogniser fails of, each half stands for itself
            return None

    def _goes_on(self, growing: Segment) -> bool:
        """Whether what is being said over us is more of what we read back."""
        try:
            return self._joining.goes_on(growing)
        except Exception:  # noqa: BLE001 - whatever the recogniser fails of, we speak on
            return False

    def _tell_half(self, *, given_up: bool = False) -> None:
        """Tell what broke off, if its rest is still missing; ``given_up``: something else was said."""
        half = self._joining.half
        if half is None:
            return
        if not given_up and (corrected := self._corrected()) is not None:
            self._act_on(corrected, half.segment, self._talk.state)
            return
        text = half.hearing.beginnings[0].text
        lacks = self._ears.lacks(text, half.listening)
        self._talk.happen(HalfHeard(text, lacks, given_up), self._clock.heard_s)
        self._joining.asked(max(self._mouth.deaf_until_s, self._clock.heard_s))

    def _corrected(self) -> Part | None:
        """What was confirmed, at the time that was said after it."""
        try:
            return self._joining.corrected()
        except Exception:  # noqa: BLE001 - whatever the recogniser fails of, the time is told not to be taken
            return None

    def _hold_back(
        self, segment: Segment, hearing: Hearing, unheard: tuple[Tone | str, ...]
    ) -> None:
        """It answers what had not been heard yet: not taken, and said again."""
        self._pass_by(segment, hearing, NotUnderstood(doubt=Doubt.TOO_SOON))
        self._talk.say(("not yet", *unheard))
        self._talk.keepers_troubles()

    def _tell_missed(
        self, segment: Segment, hearing: Hearing, decision: Decision, missed: Missed
    ) -> None:
        """It was said over us and is not taken: tell it, then what is open, or what was left of an answer."""
        text, left = "" if missed.repeats else _what_was_said(hearing, decision), missed.left
        made_out = isinstance(decision, Accept | AskBetween)
        self._pass_by(segment, hearing, OVER_US if text or made_out else decision)
        self._talk.heard_speech(segment.speech_end_s)
        if text and not left:
            left = self._falling_in.fall_silent(self._clock.now_s())
            if left:
                self._segmenter.listen()  # it was to be deaf for as long as we had spoken
        self._talk.happen(SaidOver(text) if text else SpeechUnclear(), segment.speech_end_s)
        if not text or self._talk.state not in ASKING:
            self._talk.say(left)
        self._talk.keepers_troubles()

    def _pass_by(self, segment: Segment, hearing: Hearing, decision: Decision) -> None:
        """Note down what was said and is not acted on."""
        self._attention.heard(decision)
        text, state = hearing.all[0].text if hearing.all else "", self._talk.state
        self._talk.tell(SegmentHeard(self._clock.at(segment.start_s), text, decision, state))
        ours = state is not StateName.STANDING_BY or decision == OVER_US
        if self._keeper.running and ours and self._attention.keeps(decision):
            self._note_down(segment, hearing, decision, state, end_s=segment.end_s)

    def _make_out(self, segment: Segment, listening: Listening) -> tuple[Hearing, Decision]:
        try:
            return self._ears.make_out(segment, listening)
        except Exception:  # noqa: BLE001 - whatever the recogniser fails of, the leg goes on
            self._talk.trouble(
                "Hearing failed on what was said last. Its sound is kept; say it again."
            )
            return Hearing(()), NotUnderstood(doubt=Doubt.NO_WORDS)

    def _patience_s(self, segment: Segment) -> float:
        """How much silence ends ``segment``; its answer is made while that is waited for.

        What fails here fails again, and is told, when it has ended. A machine that cannot keep up hears it
        only then.
        """
        patience_s, listening = HANGOVER_S, self._talk.state.listening
        if listening is not None and self._clock.late_s < BEHIND_S:
            with suppress(Exception):
                patience_s = self._ears.patience_s(segment, listening)
                hearing, likely = self._ears.likely(segment, listening)
                whole = self._whole(segment, hearing, likely)
                event = decision_as_event(likely) if whole is None else _event(whole)
                self._talk.foresee(event, segment.speech_end_s)
        return patience_s

    def _note_down(
        self,
        segment: Segment,
        hearing: Hearing,
        decision: Decision,
        state: StateName,
        *,
        end_s: float,
    ) -> Utterance:
        return self._keeper.note_down(
            segment.samples,
            hearing,
            decision,
            state,
            start_at=self._clock.at(segment.start_s),
            end_at=self._clock.at(end_s),
            now=self._clock.now(),
        )

    def _end_note(self) -> None:
        note, self._note = self._note, FreeNote()
        said = self._keeper.note_down(
            note.samples,
            Hearing(()),
            Accept(heard=Heard(text="", meaning=Statement(entry=SpokenNote()))),
            StateName.NOTING,
            start_at=self._clock.at(note.start_s),
            end_at=self._clock.at(note.end_s),
            now=self._clock.now(),
        )
        self._talk.happen(NoteHeard(), note.speech_end_s, said)
        self._talk.keepers_troubles()


def _what_was_said(hearing: Hearing, decision: Decision) -> str:
    """The words that were made out, as they can be said to the nurse; none, where none were sure."""
    match decision:
        case Accept(heard=heard):
            return heard.text
        case AskBetween(first=first, second=second):
            return f"{first.text}, or {second.text}"
        case NotUnderstood(doubt=Doubt.UNFINISHED):
            return hearing.beginnings[0].text
    return ""


def _event(part: Part) -> Event:
    """What was said, as the event that it is; a whole takes the place of its part, if that was kept.

    What was confirmed is corrected by what more was said of it.
    """
    event = decision_as_event(part.decision)
    if isinstance(event, ConfirmAndHeard) and (part.kept or part.confirmed):
        event = event.then  # what was confirmed is, and this waits for a confirm of its own
    match event:
        case StatementHeard(text=text, statement=statement) if part.confirmed:
            return CorrectionHeard(text, statement)
        case (
            StatementHeard(text=text, statement=statement)
            | CorrectionHeard(text=text, statement=statement)
        ) if part.kept:
            return WholeHeard(text, (statement,))
        case SeveralHeard(text=text, statements=statements) if part.kept:
            return WholeHeard(text, statements)
        case TwoHeard() if part.kept:
            return SpeechUnclear()  # the question is for what was not kept yet
    return event


def _goes_on(leg: Leg) -> str:
    """What is said of a leg that is gone on with: what had waited for a "confirm" waits no more."""
    count = sum(entry.state is EntryState.UNCONFIRMED for entry in leg.entries)
    return "the leg goes on" + (f", {digit_words(count)} unconfirmed" if count else "")


def _asks(event: Event) -> bool:
    """Whether it is not known yet what was said behind "confirm"."""
    return isinstance(event, ConfirmAndHeard) and isinstance(event.then, TwoHeard)
