"""What is taken out or corrected is what the nurse heard of last, and what is left behind is told."""

from __future__ import annotations

from tests.dialogue.talking import Talking, started, statement_of
from voice.dialogue.actions import (
    Answer,
    Confirm,
    EndLeg,
    Keep,
    Remark,
    Say,
    Sound,
    Tone,
    When,
    Withdraw,
)
from voice.dialogue.events import FellSilent, Mute, NoteHeard
from voice.dialogue.standing import END_ASKED
from voice.dialogue.turn import ANSWER_WITHIN_S
from voice.entries.kinds.leg import SpokenNote
from voice.entries.said import About, Question, Statement


def with_an_old_one() -> Talking:
    """A pressure that was left unconfirmed, and a later one that was confirmed."""
    talking = started()
    for text in ("pressure fourteen", "heart rate eighty", "pressure sixteen", "confirm"):
        talking.hears(text)
    return talking


def test_scratch_takes_out_what_was_confirmed_last() -> None:
    """After "read unconfirmed" that is the old entry, not the newest."""
    talking = with_an_old_one()
    for text in ("read unconfirmed", "confirm", "confirm"):
        talking.hears(text)
    assert talking.hears("scratch that") == (
        Withdraw(2, "scratch that"), Say("taken out: heart rate, eight zero"),
    )  # fmt: skip


def test_correction_is_for_what_was_confirmed_last() -> None:
    """A value that was just confirmed is corrected, though a later one of its kind was kept since."""
    talking = started()
    for text in ("pressure fourteen", "pressure sixteen", "confirm", "read unconfirmed", "confirm"):
        talking.hears(text)
    text = "correction pressure eighteen"
    assert talking.hears(text) == (
        Keep(3, text, statement_of("pressure eighteen"), replaces=1),
        Remark(3),
        Say("correction, pressure, one eight"),
    )


def test_what_stands_again_is_what_is_taken_out_next() -> None:
    """She heard of it last."""
    talking = with_an_old_one()
    talking.hears("correction heart rate ninety")
    assert talking.hears("scratch that")[0] == Withdraw(4, "scratch that")
    assert talking.hears("scratch that")[0] == Withdraw(2, "scratch that")


def test_an_answer_of_a_check_is_taken_out_first() -> None:
    """Within a check, what was read back last is the answer."""
    talking = with_an_old_one()
    talking.hears("check before the move")
    talking.hears("yes")
    assert talking.hears("scratch that")[0] == Withdraw(4, "scratch that")


def test_old_entry_that_is_corrected_is_named_with_its_time() -> None:
    """Long after it was said a correction may be meant for another, or be a new entry."""
    talking = started()
    for text in ("pressure fourteen", "confirm"):
        talking.hears(text)
    talking.on(FellSilent())
    text = "correction pressure eighteen"
    talking.at_s += ANSWER_WITHIN_S
    assert talking.hears(text) == (
        Keep(2, text, statement_of("pressure eighteen"), replaces=1),
        Remark(2),
        Say("in place of pressure, one four"),
        When(1),
        Say("correction, pressure, one eight"),
    )


def test_read_last_leaves_no_entry_of_a_breath_behind_in_silence() -> None:
    """What is not read again stays unconfirmed, and that is said."""
    talking = started()
    talking.hears("heart rate eighty eight pressure fourteen")
    last = Answer(Question(about=About.LAST_ENTRY))
    assert talking.hears("read last") == (
        Say("heart rate, eight eight: unconfirmed"), last, Say("pressure, one four"),
    )  # fmt: skip
    assert talking.hears("confirm") == (Confirm(2), Sound(Tone.KEPT))
    assert talking.hears("read last") == (last,)


def test_no_soon_after_confirm_is_answered() -> None:
    """It does not take out what is confirmed, and she must not believe so; later it is somebody else's."""
    talking = started()
    for text in ("pressure fourteen", "confirm"):
        talking.hears(text)
    told = "pressure, one four: confirmed; to take it out say scratch that"
    assert talking.says("no") == told
    assert talking.hears("scratch that")[0] == Withdraw(1, "scratch that")
    talking.hears("pressure fourteen")
    talking.hears("confirm")
    talking.on(FellSilent())
    talking.at_s += ANSWER_WITHIN_S
    assert talking.hears("no") == ()


def test_end_leg_said_again_much_later_is_asked_again() -> None:
    """A leg does not end by two words that were misheard far apart."""
    talking = started()
    for text in ("pressure fourteen", "end leg", "confirm"):
        talking.hears(text)
    talking.on(FellSilent())
    talking.at_s += ANSWER_WITHIN_S
    assert talking.hears("end leg") == (END_ASKED,)
    talking.on(FellSilent(), after_s=4)
    talking.at_s += ANSWER_WITHIN_S - 2
    assert talking.hears("end leg")[0] == EndLeg()


def test_note_is_kept_though_our_words_are_lost() -> None:
    """What she has begun to say into a note is kept, whether or not she can be told."""
    talking = started()
    talking.hears("take a note")
    assert talking.on(Mute()) == (Sound(Tone.TROUBLE),)
    assert talking.on(NoteHeard())[0] == Keep(1, "", Statement(entry=SpokenNote()))
