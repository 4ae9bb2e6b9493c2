"""Any sitting at all, with made-up sound: what the nurse may believe, against what was kept."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.session.scripted import (
    BROKEN_OFF,
    GRAMMAR,
    MUMBLED,
    SETTINGS,
    ZERO_AT,
    NoEcho,
    Said,
    ScriptedVoice,
    Sitting,
)
from voice.capture.microphone import MicrophoneError
from voice.dialogue.actions import Confirm, Keep, Withdraw
from voice.dialogue.state import StateName
from voice.dialogue.words import GrammarWords
from voice.entries.leg import EntryState
from voice.meaning.decision import NotForUs
from voice.meaning.listening import Listening
from voice.session.progress import SegmentHeard, Written

if TYPE_CHECKING:
    from collections.abc import Sequence

    from voice.capture.source import SourceError
    from voice.dialogue.actions import Tone

WORDS = GrammarWords(SETTINGS, GRAMMAR)
ANSWERS = ("confirm", "no", "scratch that")
PHRASES = (
    "pressure fourteen", "pressure fifteen", "drained six mils", "drain clamped", "peep five",
    "heart rate eighty eight pressure fourteen", "fentanyl fifty milligrams",
    "correction pressure eighteen", "correction drained nine mils", "correction heart rate ninety",
    "confirm drained six mils", "confirm pressure sixteen", "confirm drained …",
    "pressure fifteen/pressure fifty", "one five", "first", "at nine oh five …", "pressure …",
    "read last", "read unconfirmed", "next part", "stop reading", "total out", "say again",
    "check before the move", "yes", "skip", "stop check", "take a note", "stand by", "resume",
    "end leg", "start leg", "stop", MUMBLED, "how is the weather",
)  # fmt: skip
ANSWERED_S = 6.0
"""From the beginning of what is said, a second at most, to the latest answer: half a phrase waits for its rest."""
PASSES_BY = {StateName.STANDING_BY, StateName.NOTING, StateName.ASLEEP}
"""Where most of what is said is not for us."""

SAID = st.builds(
    Said,
    st.sampled_from(ANSWERS) | st.sampled_from(PHRASES),
    lasts_s=st.sampled_from([0.5, 1.0]),
    pause_s=st.sampled_from([0.8, 0.8, 0.8, 3.0, 14.0]),
    barges_in=st.sampled_from([False, False, True]),
)


class Noted(list[tuple[float, str]]):
    """What was said, and where the talk stood as it was begun."""

    def __init__(self, sitting: Sitting) -> None:
        super().__init__()
        self._sitting = sitting
        self.states: list[StateName] = []

    def append(self, one: tuple[float, str]) -> None:
        """Note it."""
        super().append(one)
        self.states.append(self._sitting.session.state)


@dataclass
class Witness:
    """Hears all that sounds, as the nurse does."""

    sitting: Sitting
    whole: list[tuple[Tone | str, float]] = field(default_factory=list)
    """What sounded to its end, and when that was."""
    began_s: list[float] = field(default_factory=list)
    """When something began to sound."""

    def __post_init__(self) -> None:
        mouth = self.sitting.mouth
        utter, fall_silent = mouth.utter, mouth.fall_silent
        self.said = self.sitting.script.said = Noted(self.sitting)

        def uttered(turn: Sequence[Tone | str], at_s: float) -> float:
            before = len(mouth._parts)
            ends_s = utter(turn, at_s)
            self.began_s.append(at_s)
            new = mouth._parts[-len(turn) :] if before else mouth._parts
            self.whole += [(one.what, one.end_s) for one in new]
            return ends_s

        def fell_silent(at_s: float) -> None:
            fall_silent(at_s)
            self.whole = [one for one in self.whole if one[1] <= at_s]

        mouth.utter, mouth.fall_silent = uttered, fell_silent  # type: ignore[method-assign]

    def heard_by(self, at_s: float) -> list[str]:
        """All words that had sounded to their end by then."""
        return [what for what, end_s in self.whole if isinstance(what, str) and end_s <= at_s]


def sit(root: Path, events: list[Said | SourceError], speaks_s: float) -> Witness:
    """A leg in which all that happens."""
    script = [Said("start leg"), *events, Said("how is the weather", pause_s=20)]
    witness = Witness(Sitting(root, script, voice=ScriptedVoice(speaks_s), over=NoEcho()))
    witness.sitting.run()
    return witness


def at_s(one: SegmentHeard | Written) -> float:
    """When it happened, on the source's clock."""
    return (one.at - ZERO_AT).total_seconds()


def unanswered(witness: Witness) -> list[str]:
    """What was said to the program, legal where the talk stood, and got neither tone nor words."""
    heard = [one for one in witness.sitting.progress if isinstance(one, SegmentHeard)]
    found = []
    for (begun_s, text), state in zip(witness.said, witness.said.states, strict=True):
        answered = any(begun_s + 0.2 < one < begun_s + ANSWERED_S for one in witness.began_s)
        passed = any(
            abs(at_s(one) + 0.3 - begun_s) < 0.2 and isinstance(one.decision, NotForUs)
            for one in heard
        )
        late_no = text == "no" and state is StateName.LISTENING
        if not (answered or passed or late_no or state in PASSES_BY) and is_for_us(text, state):
            found.append(f"{begun_s:.1f} s, {state}: {text}")
    return found


def is_for_us(text: str, state: StateName) -> bool:
    """Whether it can be said there; "stop" is answered by silence."""
    if text == "stop" or state.listening is None:
        return False
    # what is no answer to a question gets a tone
    listening = Listening.CONFIRMING if state is StateName.CHOOSING else state.listening
    if text == MUMBLED or text.endswith(BROKEN_OFF):
        return True
    return bool(GRAMMAR.parse(text.partition("/")[0], SETTINGS, listening))


def confirmed_unheard(witness: Witness) -> list[str]:
    """What was confirmed before its read-back, or the count of a check's answers, had sounded to its end."""
    kept: dict[int, Keep] = {}
    found = []
    for one in witness.sitting.progress:
        match one:
            case Written(action=Keep() as keep):
                kept[keep.number] = keep
            case Written(action=Confirm(number=number)):
                word_s = max(
                    said_s
                    for said_s, text in witness.said
                    if said_s < at_s(one) and "confirm" in text.split()
                )
                words = WORDS.read_back(kept[number].statement)
                heard = witness.heard_by(word_s)
                if not any(words in text or "say confirm to keep" in text for text in heard):
                    found.append(f"{number} at {word_s:.1f} s: {words}")
    return found


def not_as_told(witness: Witness) -> list[str]:
    """Entries of the journal that are not as the nurse was told: kept, confirmed or taken out."""
    told: dict[int, EntryState] = {}
    kept: dict[int, Keep] = {}
    for one in witness.sitting.progress:
        match one:
            case Written(action=Keep(number=number) as keep):
                told[number], kept[number] = EntryState.UNCONFIRMED, keep
            case Written(action=Confirm(number=number)):
                told[number] = EntryState.CONFIRMED
            case Written(action=Withdraw(number=number)):
                told[number] = EntryState.WITHDRAWN
    legs = witness.sitting.leg().entries
    return [
        f"{entry.number}: {entry.state}, told {told.get(entry.number)}"
        for entry in legs
        if entry.entry != kept[entry.number].statement.entry
        or entry.state not in {told[entry.number], EntryState.CORRECTED}
    ]


@settings(max_examples=40)
@given(
    st.lists(
        SAID | st.builds(MicrophoneError, st.just("The microphone has gone.")),
        min_size=1,
        max_size=12,
    ),
    st.sampled_from([0.4, 1.0, 2.0]),
)
def test_nothing_is_wrong_and_silent(events: list[Said | SourceError], speaks_s: float) -> None:
    """What is said is answered, what is confirmed was heard whole before, and the journal is as was told."""
    with TemporaryDirectory() as folder:
        witness = sit(Path(folder), [*events], speaks_s)
        told = "\n".join(map(str, [*witness.said, *witness.sitting.spoken]))
        assert not unanswered(witness), told
        assert not confirmed_unheard(witness), told
        if len({one.folder for one in witness.sitting.progress if hasattr(one, "folder")}) == 1:
            assert not not_as_told(witness), told
