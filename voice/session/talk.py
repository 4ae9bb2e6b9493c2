"""The talk of a leg, acted out: what happens is written first, and only then spoken of."""

from __future__ import annotations

import math
from contextlib import suppress
from typing import TYPE_CHECKING

from voice.dialogue.actions import (
    Action,
    Confirm,
    EndLeg,
    Keep,
    Record,
    Remark,
    Sound,
    StartLeg,
    Tone,
    Withdraw,
)
from voice.dialogue.events import Event, FellSilent, Mute, Trouble
from voice.dialogue.machine import step
from voice.dialogue.state import DialogueState
from voice.entries.errors import LegbookError
from voice.record.errors import JournalError
from voice.session.behind import BEHIND_S
from voice.session.keeper import Utterance
from voice.session.lost_sound import SPOKEN
from voice.session.progress import (
    InTrouble,
    LegBegan,
    LegOver,
    Progress,
    Sounded,
    Spoken,
    Written,
)
from voice.session.reminders import Reminders
from voice.session.turn import turn_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from voice.dialogue.state import StateName
    from voice.dialogue.words import Words
    from voice.hearing.segmenter import Segmenter
    from voice.report.answers.asking import Programme
    from voice.session.falling_in import FallingIn
    from voice.session.keeper import Keeper
    from voice.session.lost_sound import Loss
    from voice.session.mouth import Mouth
    from voice.session.source_clock import SourceClock


WORDS_LOST = "Words of mine were not heard. Ask again, or say read unconfirmed."
"""What is said when it can speak again: without it she may believe that nothing was kept, and say it twice."""


class Talk:
    """Takes the steps of the talk, and does what they ask for."""

    def __init__(  # noqa: PLR0913 - what a step may ask for goes to many places
        self,
        *,
        keeper: Keeper,
        mouth: Mouth,
        words: Words,
        programme: Programme,
        clock: SourceClock,
        segmenter: Segmenter,
        falling_in: FallingIn,
    ) -> None:
        """``segmenter`` is made deaf while we speak; a running leg of ``keeper`` is gone on with."""
        self._keeper = keeper
        self._mouth = mouth
        self._words = words
        self._programme = programme
        self._clock = clock
        self._segmenter = segmenter
        self._falling_in = falling_in
        self._state = DialogueState.resumed(keeper.leg()) if keeper.running else DialogueState()
        self._reminders = Reminders()
        self._told: set[str] = set()  # sentences that need not be said twice
        self._unspoken = False  # whether words were lost, and nobody has been told
        self._progress: list[Progress] = []

    @property
    def state(self) -> StateName:
        """Where it stands."""
        return self._state.name

    @property
    def next_number(self) -> int:
        """The number of the entry that is kept next."""
        return self._state.next_number

    def happen(self, event: Event, at_s: float, said: Utterance | None = None) -> bool:
        """Take a step: write, then speak. What cannot be written did not happen."""
        state, actions = step(self._state, event, at_s, self._words)
        records = [action for action in actions if isinstance(action, Record)]
        try:
            self._keeper.do(records, said or Utterance(self._clock.at(at_s)), self._clock.now())
        except LegbookError as error:
            self._told.add(str(error))
            self.trouble(str(error))
            return False
        for record in records:
            self._written(record)
        if state.asks != self._state.asks:
            self._falling_in.moved_on()
        self._state = state
        self.utter(*actions)
        return True

    def foresee(self, event: Event, at_s: float) -> None:
        """Have ready what ``event`` would have us say, should it happen; nothing is changed by that.

        What has to be said of an entry that is not kept yet cannot be known before.
        """
        _, actions = step(self._state, event, at_s, self._words)
        known = [action for action in actions if not isinstance(action, Remark)]
        self._mouth.prepare(turn_of(known, self._keeper.leg, self._clock.now(), self._programme))

    def remind(self, at_s: float) -> None:
        """Say what is due, one thing at a time, and never into our own words."""
        if at_s < self._mouth.deaf_until_s:
            return
        reminder = self._reminders.due(self._keeper.leg, self.state, at_s, self._clock.at(at_s))
        if reminder is not None and not self.happen(reminder, at_s):
            self._reminders.rest(at_s)

    def heard_speech(self, until_s: float) -> None:
        """She spoke to us until then: nothing that can wait is said so soon after."""
        self._reminders.spoke(until_s)

    def cut_off(self) -> None:
        """We fell silent before the end of our words: an answer is waited for from now on."""
        self._fell_silent(self._clock.now_s())

    # --- trouble ---------------------------------------------------------------------------------

    def trouble(self, sentence: str) -> None:
        """Tell the nurse, and the journal if it still takes anything."""
        self.notice(sentence)
        self.happen(Trouble(sentence), self._clock.now_s())

    def lost(self, loss: Loss) -> None:
        """Note lost sound in the journal, and tell the nurse where a phrase may have gone with it."""
        self.notice(loss.sentence)
        if loss.aloud:
            self.happen(Trouble(SPOKEN), self._clock.now_s())

    def keepers_troubles(self) -> None:
        """Tell what the keeper ran into, each once a leg."""
        sentences, self._keeper.troubles = self._keeper.troubles, []
        for sentence in dict.fromkeys(sentences):
            if sentence not in self._told:
                self._told.add(sentence)
                self.trouble(sentence)

    def notice(self, sentence: str) -> None:
        """Tell the journal, if it still takes anything, and whoever watches."""
        self.tell(InTrouble(self._clock.now(), sentence))
        with suppress(JournalError):
            self._keeper.notice(sentence, self._clock.now())

    # --- sound out -------------------------------------------------------------------------------

    def utter(self, *actions: Action) -> None:
        """Speak what is asked for, in one turn."""
        self.say(turn_of(actions, self._keeper.leg, self._clock.now(), self._programme))

    def say(self, turn: Sequence[Tone | str]) -> None:
        """Speak; where that fails, nothing waits to be confirmed any more, and the next words tell so."""
        if not turn:
            return
        lost = (Tone.TROUBLE, WORDS_LOST) if self._unspoken else ()
        try:
            self._speak((*lost, *turn))
        except LegbookError as error:
            self._unspoken = True
            self._mute(str(error))
        else:
            self._unspoken = False

    def _mute(self, sentence: str) -> None:
        if sentence in self._told:
            self.tell(InTrouble(self._clock.now(), sentence))
        else:
            self._told.add(sentence)
            self.notice(sentence)
        self._state, actions = step(self._state, Mute(), self._clock.now_s(), self._words)
        with suppress(LegbookError):  # a tone may still come through
            self._speak([action.tone for action in actions if isinstance(action, Sound)])

    def _speak(self, turn: Sequence[Tone | str]) -> None:
        # what still waits to be heard was said before we speak
        begins_s, behind = self._clock.now_s(), self._clock.late_s > BEHIND_S
        ends_s = self._mouth.utter(turn, begins_s)
        self._segmenter.deaf_until(self._mouth.deaf_until_s, begins_s if behind else -math.inf)
        self._fell_silent(ends_s)
        self._reminders.spoke(ends_s)
        if turn:
            self._falling_in.spoke(turn, ends_s)
        now = self._clock.now()
        for part in turn:
            self.tell(Sounded(now, part) if isinstance(part, Tone) else Spoken(now, part))

    def _fell_silent(self, at_s: float) -> None:
        self._state, _ = step(self._state, FellSilent(), at_s, self._words)

    # --- news ------------------------------------------------------------------------------------

    def tell(self, progress: Progress) -> None:
        """Keep it for whoever watches."""
        self._progress.append(progress)

    def news(self) -> Iterator[Progress]:
        """What happened since this was asked last."""
        news, self._progress = self._progress, []
        yield from news

    def _written(self, action: Record) -> None:
        now = self._clock.now()
        match action:
            case StartLeg():
                self._told.clear()
                self._reminders = Reminders()
                self.tell(LegBegan(now, self._keeper.folder))
            case EndLeg():
                self.tell(LegOver(now, self._keeper.folder))
            case Keep() | Confirm() | Withdraw():
                self.tell(Written(now, action))
