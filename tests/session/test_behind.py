"""A machine on which hearing takes longer than the sound lasts. The clock is the test's own."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import pytest

from tests.session.scripted import (
    GRAMMAR,
    SETTINGS,
    ZERO_AT,
    FirstWords,
    LoudIsSpeech,
    NoEcho,
    Script,
    ScriptedEars,
    ScriptedVoice,
)
from voice.capture.microphone import BLOCK_S, QUEUE_BLOCKS
from voice.dialogue.words import GrammarWords
from voice.entries.heard import SAMPLE_RATE, Block
from voice.entries.leg import EntryState
from voice.hearing.segmenter import Segmenter
from voice.meaning.checklist import load_checklists
from voice.record.shelf import load
from voice.session.barge_in import BargeIn
from voice.session.behind import AGAIN_S, TELL_S, Behind
from voice.session.keeper import Keeper, Origin
from voice.session.lost_sound import SPOKEN
from voice.session.mouth import Mouth, Silent
from voice.session.progress import SegmentHeard, Spoken
from voice.session.session import Session

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from voice.entries.heard import Hearing, Segment
    from voice.entries.leg import Leg
    from voice.meaning.decision import Decision
    from voice.meaning.listening import Listening
    from voice.session.progress import Progress

SAMPLES = round(BLOCK_S * SAMPLE_RATE)


@dataclass
class Machine:
    """A microphone with its queue, and a nurse who speaks by her own watch, whatever she is answered."""

    said: list[tuple[float, str]]
    """What she says, each for a second, and when."""
    takes_s: dict[str, float]
    """How long it takes to hear what begins with a word; else nothing."""
    until_s: float
    now_s: float = 0.0
    lost_s: float = 0.0
    _queue: deque[Block] = field(default_factory=deque)
    _recorded: int = 0

    def clock(self) -> float:
        """Time goes on with the sound, and while something is heard."""
        return self.now_s

    def blocks(self) -> Iterator[Block]:
        """All that fits into the queue; what is lost is told with the next."""
        while self._queue or self._recorded < self.until_s / BLOCK_S:
            if not self._queue:
                self.now_s = max(self.now_s, (self._recorded + 1) * BLOCK_S)
            self._record()
            if self._queue:
                yield self._queue.popleft()

    def _record(self) -> None:
        """What came in meanwhile."""
        while (end_s := (self._recorded + 1) * BLOCK_S) <= self.now_s:
            if end_s <= self.until_s and len(self._queue) < QUEUE_BLOCKS:
                start_s = self._recorded * BLOCK_S
                loud = any(at_s <= start_s < at_s + 1 for at_s, _ in self.said)
                samples = np.full(SAMPLES, 9000 if loud else 0, dtype=np.int16)
                self._queue.append(Block(start_s, samples, self.lost_s))
                self.lost_s = 0.0
            elif end_s <= self.until_s:
                self.lost_s += BLOCK_S
            self._recorded += 1


class SlowEars(ScriptedEars):
    """Hears what was said, in its time."""

    def __init__(self, machine: Machine) -> None:
        script = Script([])
        script.said = machine.said
        super().__init__(script)
        self._machine = machine
        self._heard: Segment | None = None

    def make_out(self, segment: Segment, listening: Listening) -> tuple[Hearing, Decision]:
        """As the script has it; what was heard last is known."""
        hearing, decision = super().make_out(segment, listening)
        if self._heard is not segment:
            self._heard = segment
            text = hearing.alternatives[0].text if hearing.alternatives else ""
            self._machine.now_s += self._machine.takes_s.get(text.partition(" ")[0], 0.0)
        return hearing, decision


@dataclass
class Flown:
    """What became of it."""

    leg: Leg
    told: list[tuple[float, str]]
    """What was spoken, and when, in s."""
    heard: list[str]

    @property
    def spoken(self) -> list[str]:
        """All texts."""
        return [text for _, text in self.told]

    def states(self) -> list[tuple[float, EntryState]]:
        """The pressures, each with its state."""
        return [(dict(one.entry)["value"], one.state) for one in self.leg.entries]


def fly(root: Path, machine: Machine, *, listens_over: bool = False) -> Flown:
    """All that was said on that machine, and what came of it."""
    mouth = Mouth(ScriptedVoice(), Silent())
    script = Script([])
    script.said = machine.said
    over = BargeIn(NoEcho(), Segmenter(LoudIsSpeech()), FirstWords(script))
    keeper = Keeper(Origin(root, SETTINGS, grammar_digest="g", model_digest="m"))
    session = Session(
        source=machine,
        segmenter=Segmenter(LoudIsSpeech()),
        ears=SlowEars(machine),
        words=GrammarWords(SETTINGS, GRAMMAR, load_checklists(GRAMMAR, SETTINGS)),
        mouth=mouth,
        keeper=keeper,
        zero_at=ZERO_AT,
        clock=machine.clock,
        barge_in=over if listens_over else None,
    )
    progress: list[Progress] = list(session.run())
    return Flown(
        load(keeper.folder),
        [((p.at - ZERO_AT).total_seconds(), p.text) for p in progress if isinstance(p, Spoken)],
        [p.text for p in progress if isinstance(p, SegmentHeard)],
    )


CONFIRMED, UNCONFIRMED = EntryState.CONFIRMED, EntryState.UNCONFIRMED


def test_what_was_said_while_it_could_not_keep_up_is_heard(tmp_path: Path) -> None:
    """Entries that wait while another is heard are kept, in order and at their own times."""
    said = [
        (1.0, "start leg"),
        (8.0, "pressure fourteen"),
        (11.0, "pressure fifteen"),
        (13.5, "pressure sixteen"),
    ]
    flown = fly(tmp_path, Machine(said, {"pressure": 6.0}, until_s=60))
    assert flown.states() == [(14, UNCONFIRMED), (15, UNCONFIRMED), (16, UNCONFIRMED)]
    at_s = [(one.spoken_at - ZERO_AT).total_seconds() for one in flown.leg.entries]
    assert at_s == pytest.approx([8.0, 11.0, 13.5], abs=0.4)
    assert [one for one in flown.spoken if one.endswith("behind. Wait for my answers.")] == [
        "I am 6 seconds behind. Wait for my answers.",
        "I am 12 seconds behind. Wait for my answers.",
    ]
    assert [one.text for one in flown.leg.notices][-1].startswith("Hearing was up to ")


def test_confirm_is_not_for_what_had_not_been_read_back(tmp_path: Path) -> None:
    """A "confirm" said before the read-back does not count for it; one after it does."""
    said = [(1.0, "start leg"), (8.0, "pressure fourteen"), (11.0, "confirm")]
    early = fly(tmp_path / "early", Machine([*said], {"pressure": 6.0}, until_s=40))
    assert early.states() == [(14, UNCONFIRMED)]
    assert early.heard == ["start leg", "pressure fourteen", "confirm"]
    after = early.spoken.index("not yet")
    assert "pressure, one four" in early.spoken[after + 1]
    again = fly(tmp_path / "late", Machine([*said, (25.0, "confirm")], {"pressure": 6.0}, 50))
    assert again.states() == [(14, CONFIRMED)]


def test_confirm_is_for_what_had_sounded(tmp_path: Path) -> None:
    """She confirms what she has just heard, while an entry that she said before waits to be read back."""
    said = [
        (1.0, "start leg"),
        (8.0, "pressure fourteen"),  # heard at 15.3, read back until 19
        (12.0, "pressure fifteen"),  # heard at 21.3
        (19.6, "confirm"),  # to the first, though the second has been taken meanwhile
    ]
    flown = fly(tmp_path, Machine(said, {"pressure": 6.0}, until_s=60))
    assert flown.states() == [(14, UNCONFIRMED), (15, UNCONFIRMED)]
    assert "not yet" in flown.spoken


@pytest.mark.parametrize("answer", ["no", "correction pressure sixteen", "scratch that"])
def test_no_answer_is_for_what_had_not_been_read_back(tmp_path: Path, answer: str) -> None:
    """What takes back or corrects does not do so to an entry that it cannot have been about."""
    said = [
        (1.0, "start leg"),
        (8.0, "pressure fourteen"),
        (12.0, "pressure fifteen"),
        (19.6, answer),
    ]
    flown = fly(tmp_path, Machine(said, {"pressure": 6.0}, until_s=60))
    assert flown.states() == [(14, UNCONFIRMED), (15, UNCONFIRMED)]
    assert "not yet" in flown.spoken


def test_sound_that_does_not_fit_is_told(tmp_path: Path) -> None:
    """The queue is bounded: what is lost beyond it is noted with its length, and told aloud."""
    said = [(1.0, "start leg"), (8.0, "pressure fourteen"), (60.0, "pressure fifteen")]
    flown = fly(tmp_path, Machine(said, {"pressure": 80.0}, until_s=200))
    losses = [one.text for one in flown.leg.notices if one.text.startswith("Sound was lost")]
    (lost,) = losses
    assert float(lost.split()[3]) == pytest.approx(80 - QUEUE_BLOCKS * BLOCK_S, abs=0.5)
    assert SPOKEN in flown.spoken
    assert flown.states() == [(14, UNCONFIRMED)]


def test_a_quick_machine_is_never_behind(tmp_path: Path) -> None:
    """Nothing is told of delays that nobody notices, and answers are taken as ever."""
    said = [(1.0, "start leg"), (8.0, "pressure fourteen"), (16.0, "confirm")]
    flown = fly(tmp_path, Machine(said, {"pressure": 0.3}, until_s=30))
    assert flown.states() == [(14, CONFIRMED)]
    assert flown.leg.notices == ()


def test_a_delay_is_told_once() -> None:
    """As long as it lasts, and for minutes after, only one twice as great is told again."""
    behind = Behind()
    assert behind.aloud(0, TELL_S - 0.1) is None
    assert behind.aloud(1, 4.0) == "I am 4 seconds behind. Wait for my answers."
    assert behind.aloud(2, 7.9) is None
    assert behind.aloud(3, 8.0) == "I am 8 seconds behind. Wait for my answers."
    assert behind.aloud(3 + AGAIN_S - 1, 9) is None
    assert behind.aloud(3 + AGAIN_S, 3.4) == "I am 3 seconds behind. Wait for my answers."


def test_the_end_of_a_delay_is_noted_with_its_height() -> None:
    """Once, and only of a delay that was worth telling."""
    behind = Behind()
    late_s = (0.2, 2.9, 0.1, 3.0, 9.4, 2.0, 0.4, 0.1)
    assert [one for late in late_s if (one := behind.caught_up(late))] == [
        "Hearing was up to 9 s behind; it has caught up."
    ]


def test_what_was_said_before_it_spoke_is_heard_once(tmp_path: Path) -> None:
    """Who listens over its own voice too takes what waited as ever, and does not tell that it was said over it."""
    said = [(1.0, "start leg"), (6.0, "pressure fourteen"), (8.2, "heart rate eighty")]
    machine = Machine(said, takes_s={"pressure": 4.0}, until_s=20.0)
    flown = fly(tmp_path, machine, listens_over=True)
    assert not any("not taken" in text for text in flown.spoken)
    assert [one.heard for one in flown.leg.entries] == ["pressure fourteen", "heart rate eighty"]
