"""What is said and not kept is told, and what is kept is not believed to be lost."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.session.scripted import (
    MUMBLED,
    NoEcho,
    Said,
    ScriptedVoice,
    Sitting,
    says,
)
from tests.session.test_behind import Machine, fly
from voice.capture.microphone import MicrophoneError
from voice.record import clips
from voice.session.progress import Spoken
from voice.session.session import LOOK_AGAIN_S
from voice.session.talk import WORDS_LOST
from voice.speech.synthesiser import SpeechError

if TYPE_CHECKING:
    from pathlib import Path

    from voice.capture.source import SourceError

LOW, TROUBLE, KEPT = "(not understood)", "(trouble)", "(kept)"
STARTED = "leg started, pressures in millimetres of mercury"
GONE = "The microphone has gone."
QUESTION = "pressure: one five, or five zero?"


def over(text: str) -> Said:
    """Said while the program speaks."""
    return Said(text, barges_in=True)


def sat(path: Path, *events: str | Said | SourceError, live: bool = False) -> Sitting:
    """A leg in which the program listens while it speaks."""
    return Sitting(path, says("start leg", *events), over=NoEcho(), live=live).run()


# --- said over us ------------------------------------------------------------------------------


def test_an_entry_said_over_a_question_is_sounded(tmp_path: Path) -> None:
    """It is not listened for then, so a tone tells that it was not taken; the second time the question follows."""
    sitting = sat(
        tmp_path, "pressure fifteen/pressure fifty", over("drained six mils"), over("drain open")
    )
    assert sitting.spoken[3:] == [QUESTION, LOW, LOW, f"not understood. {QUESTION}"]
    assert sitting.leg().entries == ()


def test_it_hears_again_as_soon_as_it_is_silent(tmp_path: Path) -> None:
    """What it was still to say, when something said over it was told, does not leave it deaf for as long."""
    gone = MicrophoneError(GONE)
    events = says("start leg", "check before the move", gone, over("pressure fifteen"), "yes")
    sitting = Sitting(tmp_path, events, over=NoEcho(), voice=ScriptedVoice(2.0)).run()
    assert sitting.spoken[-3:] == [
        "pressure fifteen: not taken; say it again",
        "is the drain clamped?",
        "drain clamped for, transfer. are both stopcocks off?",
    ]


def test_resume_said_over_standing_by_is_told(tmp_path: Path) -> None:
    """Else she would believe that it listens, and what she says then would be passed over."""
    sitting = sat(tmp_path, "stand by", over("resume"), "resume", "pressure fourteen")
    assert sitting.spoken[3:] == [
        "standing by", "resume: not taken; say it again", "(heard)", "listening",
        "pressure, one four",
    ]  # fmt: skip


def test_private_words_over_standing_by_are_neither_told_nor_kept(tmp_path: Path) -> None:
    """They are none of its business, also where it spoke as they began."""
    sitting = sat(tmp_path, "stand by", over("a private word"), over(MUMBLED), over("drain open"))
    assert sitting.spoken[3:] == ["standing by"]
    assert len(clips.names([sitting.keeper.folder])) == 2


def test_start_leg_said_over_us_is_told(tmp_path: Path) -> None:
    """A leg that she believes to have begun would take no entry."""
    sitting = sat(tmp_path, "end leg", over("start leg"))
    assert sitting.spoken[-1] == "start leg: not taken; say it again"


@pytest.mark.parametrize("answer", ["yes", "skip", "no"])
def test_a_question_that_was_cut_off_is_heard_before_it_is_answered(
    tmp_path: Path, answer: str
) -> None:
    """After "stop" nobody knows what is asked."""
    sitting = sat(tmp_path, "check before the move", over("stop"), answer)
    asked = "is the drain clamped?"
    assert sitting.spoken[3:] == [f"check before the move. {asked}", "not yet", sitting.spoken[3]]
    assert sitting.leg().entries == ()


# --- a machine that cannot keep up -------------------------------------------------------------


def test_no_answer_is_for_the_next_question_of_a_check(tmp_path: Path) -> None:
    """Who says "yes" twice because nothing was heard has answered one question."""
    said = [(1.0, "start leg"), (6.0, "check before the move"), (14.0, "yes"), (16.5, "yes")]
    flown = fly(tmp_path, Machine(said, {"yes": 3.0}, until_s=40))
    assert "not yet" in flown.spoken
    assert [one.entry.kind for one in flown.leg.entries] == ["drain_clamped"]


# --- what is refused ---------------------------------------------------------------------------


def test_a_time_is_not_for_what_was_refused(tmp_path: Path) -> None:
    """A drug in a unit that it does not go in was not kept: a time after the "confirm" of another entry is not its."""
    sitting = sat(
        tmp_path, "pressure fourteen", "fentanyl fifty milligrams", "confirm",
        Said("at nine oh five …", pause_s=6),
    )  # fmt: skip
    assert sitting.spoken[-2:] == [KEPT, "the time was not taken; say it with its entry"]


# --- devices -----------------------------------------------------------------------------------


def test_what_is_due_is_said_without_a_microphone(tmp_path: Path) -> None:
    """An entry is told to be unconfirmed, and the closed drain is reminded of, though nobody can be heard."""
    away = [MicrophoneError(GONE)] * 1500
    sitting = sat(
        tmp_path, "drain clamped for reading", "confirm", "pressure fourteen", *away, live=True
    )
    told = [one.text for one in sitting.progress if isinstance(one, Spoken)]
    without = told[told.index(GONE) + 1 :]
    assert without[:2] == ["pressure, one four", "pressure, one four: unconfirmed."]
    assert any("drain" in text and "closed" in text for text in without[2:])
    assert sitting.slept_s == [LOOK_AGAIN_S] * len(away)


def test_a_phrase_that_the_microphone_took_with_it_is_sounded(tmp_path: Path) -> None:
    """What had been said of it is kept as sound at once, and a tone tells that it was not taken."""
    sitting = sat(tmp_path, Said("drained six mils", pause_s=0.1), MicrophoneError(GONE))
    assert sitting.spoken[3:] == [LOW, TROUBLE, GONE]
    assert len(clips.names([sitting.keeper.folder])) == 2


def test_a_note_that_the_microphone_took_with_it_is_kept(tmp_path: Path) -> None:
    """As far as it was spoken, without waiting for a microphone that may never come."""
    away = [MicrophoneError(GONE)] * 6
    sitting = Sitting(
        tmp_path, says("start leg", "take a note", Said("the line", lasts_s=3, pause_s=0.1), *away), live=True
    )  # fmt: skip
    for one in sitting.session.run():
        sitting.progress.append(one)
        if sitting.spoken[-1:] == ["note"]:
            break
    assert [entry.entry.kind for entry in sitting.leg().entries] == ["spoken_note"]
    assert sitting.script.events  # the microphone is still away


def test_words_that_were_lost_are_told_of_when_it_speaks_again(tmp_path: Path) -> None:
    """Who heard no read-back says it again, and it stands twice: so she is told, before the next read-back."""
    sitting = Sitting(
        tmp_path, says("start leg", "drained six mils", "heart rate eighty", "confirm")
    )
    for one in sitting.session.run():
        sitting.progress.append(one)
        sitting.voice.fails = (
            SpeechError("espeak-ng gave no sound.") if sitting.spoken[-1:] == [STARTED] else None
        )
    assert sitting.spoken[3:] == [TROUBLE, TROUBLE, WORDS_LOST, "heart rate, eight zero", KEPT]
