"""Whom the program listens to: a button's press, an attention word, or everybody."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pytest

from tests.session.scripted import GRAMMAR, SETTINGS, Said, Sitting, Tone, says
from voice.dialogue.standing import END_ASKED
from voice.entries.leg import EntryState
from voice.meaning.decision import Accept, Doubt, Heard, NotForUs, NotUnderstood
from voice.record.events import Heard as HeardEvent
from voice.record.events import from_text
from voice.record.part import Part
from voice.session.attention import HELD_S, OPEN_S, Called, Pressed
from voice.session.progress import SegmentHeard

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from voice.record.chain import Row

CALL = "secretary"
GUARDED = GRAMMAR.guarded(CALL)
HEARD, KEPT = "(heard)", "(kept)"
STARTED = "leg started, pressures in millimetres of mercury"
OTHER_TALK = (
    "drain open", "pressure fourteen", "confirm", "no", "end leg", "stand by", "scratch that",
    "correction pressure eighteen", "how is the weather",
)  # fmt: skip


@dataclass
class Presses:
    """A key that is pressed at given times of the script."""

    at_s: list[float]
    now: Callable[[], float]
    closed: bool = False

    def pressed(self) -> bool:
        """Whether a press has come due since the last call."""
        due = [at_s for at_s in self.at_s if at_s <= self.now()]
        self.at_s = self.at_s[len(due) :]
        return bool(due)

    def close(self) -> None:
        """Note that it was given back."""
        self.closed = True


@dataclass
class Ear:
    """A button's ear, looked at every 0.1 s without a session."""

    presses: list[float]
    deaf_until_s: float = -1.0
    in_speech_until_s: float = -1.0
    now_s: float = 0.0
    tones: list[tuple[float, Tone]] = field(default_factory=list)
    open_s: list[float] = field(default_factory=list)

    def run(self, until_s: float, *, taken_s: float = -1.0) -> Ear:
        """Look until then; an utterance is taken at ``taken_s``."""
        ear = Pressed(Presses(list(self.presses), lambda: self.now_s))
        for tenth in range(round(until_s * 10)):
            self.now_s = tenth / 10
            in_speech = self.now_s < self.in_speech_until_s
            tone = ear.look(self.now_s, self.deaf_until_s, in_speech=in_speech)
            if tone is not None:
                self.tones.append((self.now_s, tone))
            if self.now_s == taken_s:
                ear.heard(NotUnderstood(doubt=Doubt.FAINT))
            if ear.open:
                self.open_s.append(self.now_s)
        return self


def sitting(tmp_path: Path, events: list[Said], presses: list[float]) -> Sitting:
    """A leg that is heard only after a press."""
    keys = Presses(presses, lambda: made.script.now_s)
    made = Sitting(tmp_path, says(*events), attention=Pressed(keys))
    made.run()
    assert keys.closed
    return made


# --- the attention word ------------------------------------------------------------------------


def called(tmp_path: Path, *texts: str | Said) -> Sitting:
    """A leg in which an entry must begin with the attention word."""
    return Sitting(tmp_path, says(*texts), attention=Called(CALL), grammar=GUARDED).run()


def test_what_is_kept_and_confirmed_begins_with_the_word(tmp_path: Path) -> None:
    """The word begins an entry and its "confirm"; to have it read again needs none."""
    leg = called(
        tmp_path, f"{CALL} start leg", f"{CALL} pressure fourteen", "say again",
        f"{CALL} confirm", f"{CALL} end leg", f"{CALL} end leg",
    )  # fmt: skip
    assert leg.spoken == [
        HEARD, f"say {CALL} first", HEARD, STARTED, "pressure, one four", "pressure, one four", KEPT,
        END_ASKED.text, "leg ended, all confirmed",
    ]  # fmt: skip


def test_other_talk_leaves_no_trace(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Legal phrases without the word are neither written, nor answered, nor kept as sound."""
    append, rows = Part.append, list[str]()

    def note(part: Part, row: Row) -> None:
        rows.append(row.text)
        append(part, row)

    monkeypatch.setattr(Part, "append", note)
    leg = called(tmp_path, f"{CALL} start leg", *OTHER_TALK, f"{CALL} end leg")
    assert leg.spoken[2:] == [HEARD, STARTED, "leg ended, all confirmed"]
    assert leg.leg().entries == ()
    heard = [e for e in map(from_text, rows) if isinstance(e, HeardEvent)]
    assert len(heard) == 2  # the beginning and the end
    assert len(list((leg.keeper.folder / "clips").iterdir())) == 2


@pytest.mark.parametrize("talk", [*OTHER_TALK, "correction heart rate ninety"])
def test_other_talk_never_confirms_what_waits(tmp_path: Path, talk: str) -> None:
    """While a read-back waits nobody else's "confirm" settles it; what takes it back is told aloud."""
    leg = called(tmp_path, f"{CALL} start leg", f"{CALL} heart rate eighty", talk)
    states = [(entry.heard, entry.state) for entry in leg.leg().entries]
    withdrawn = talk in {"no", "scratch that"}
    assert any(text.startswith("taken out") for text in leg.spoken) is withdrawn
    state = EntryState.WITHDRAWN if withdrawn else EntryState.UNCONFIRMED
    assert states == [(f"{CALL} heart rate eighty", state)]


def test_standing_by_is_left_only_by_the_word(tmp_path: Path) -> None:
    """While it stands by, "resume" to somebody else does not wake it."""
    leg = called(
        tmp_path, f"{CALL} start leg", f"{CALL} stand by", "resume", f"{CALL} pressure fourteen",
        f"{CALL} resume", f"{CALL} pressure fifteen",
    )  # fmt: skip
    assert leg.spoken[4:] == ["standing by", HEARD, "listening", "pressure, one five"]


@pytest.mark.parametrize(
    ("decision", "kept"),
    [
        (Accept(heard=Heard(text="no", meaning=GRAMMAR.parse("no", SETTINGS)[0])), True),
        (NotUnderstood(doubt=Doubt.CLOSE), True),
        (NotUnderstood(doubt=Doubt.OVER_US), True),
        (NotUnderstood(doubt=Doubt.FAINT), False),
        (NotUnderstood(doubt=Doubt.CUT), False),
        (NotUnderstood(doubt=Doubt.NO_WORDS), False),
        (NotForUs(), False),
    ],
)
def test_only_what_was_surely_for_us_is_kept(decision: Accept | NotForUs, *, kept: bool) -> None:
    """What is too faint or too long to be sure of may have been said to anybody."""
    assert Called(CALL).keeps(decision) is kept


# --- the button --------------------------------------------------------------------------------


def test_a_press_hears_one_utterance(tmp_path: Path) -> None:
    """Without a press nothing is heard, whatever is said; each press lets one utterance in."""
    leg = sitting(
        tmp_path,
        [
            Said("start leg", 5), Said("pressure fifty", 20), Said("pressure fourteen", 35),
            Said("no", 45), Said("and you", 53), Said("confirm", 60), Said("end leg", 70),
            Said("end leg", 90), Said("end leg", 110),
        ],
        [4, 33, 58, 88, 108],
    )  # fmt: skip
    assert leg.spoken == [
        HEARD, "press a key, then speak", HEARD, HEARD, STARTED, HEARD, "pressure, one four",
        # the "no" was not heard, and twelve seconds later the entry is left; then "confirm" comes
        "pressure, one four: unconfirmed.", HEARD, "nothing to confirm", HEARD,
        END_ASKED.text, HEARD, "leg ended, 1 unconfirmed",
    ]  # fmt: skip
    heard = [one.text for one in leg.progress if isinstance(one, SegmentHeard)]
    assert heard == ["start leg", "pressure fourteen", "confirm", "end leg", "end leg"]


def test_other_talk_does_not_use_up_a_press(tmp_path: Path) -> None:
    """What is no phrase leaves the ear open for what was meant."""
    leg = sitting(tmp_path, [Said("how is the weather", 5), Said("start leg", 7.5)], [4])
    assert leg.spoken[-1] == STARTED


def test_a_note_is_heard_to_its_end(tmp_path: Path) -> None:
    """What is said after "take a note" is kept without another press."""
    leg = sitting(
        tmp_path, [Said("start leg", 5), Said("take a note", 15), Said("he is pale", 20)], [4, 14]
    )
    assert [entry.entry.kind for entry in leg.leg().entries] == ["spoken_note"]


def test_a_press_without_speech_ends_with_a_tone() -> None:
    """Who pressed and said nothing hears that the ear is closed again."""
    ear = Ear([1.0]).run(15)
    assert ear.tones == [(1.0, Tone.HEARD), (1.0 + OPEN_S, Tone.NOT_UNDERSTOOD)]
    assert ear.open_s[0] == 1.0
    assert ear.open_s[-1] == pytest.approx(1.0 + OPEN_S - 0.1)


def test_speech_that_has_begun_is_heard_out() -> None:
    """The ear does not close on somebody who is speaking."""
    ear = Ear([1.0], in_speech_until_s=12.0).run(15)
    assert ear.tones[-1] == (12.0, Tone.NOT_UNDERSTOOD)


def test_a_key_held_down_is_one_press() -> None:
    """A key that repeats does not open the ear again when the utterance has been taken."""
    held = [1.0 + n * HELD_S / 2 for n in range(12)]
    ear = Ear(held).run(15, taken_s=3.0)
    assert ear.tones == [(1.0, Tone.HEARD)]
    assert ear.open_s[-1] == pytest.approx(2.9)


def test_a_press_while_it_speaks_waits_for_the_end() -> None:
    """The time to begin counts from when the program has ended, and no tone disturbs it."""
    ear = Ear([1.0], deaf_until_s=5.0).run(20)
    assert ear.tones == [(5.0 + OPEN_S, Tone.NOT_UNDERSTOOD)]
