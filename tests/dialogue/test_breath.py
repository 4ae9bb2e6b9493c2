"""Several entries in one breath: kept together, confirmed together, each correctable alone."""

from __future__ import annotations

import pytest

from tests.dialogue.talking import Talking, started, statement_of, two
from voice.dialogue.actions import Confirm, Keep, Remark, Say, Sound, Tone, Withdraw
from voice.dialogue.events import FellSilent, TimePassed
from voice.dialogue.state import StateName

BREATH = "heart rate eighty eight pressure fourteen pupils four and reactive"


def breathed() -> Talking:
    """A talk in which three entries of one breath wait."""
    talking = started()
    talking.hears(BREATH)
    return talking


def test_breath_is_kept_at_once_and_read_back_together() -> None:
    """Each entry of a breath is kept, in the order in which it was said, then all are read back."""
    assert started().hears(BREATH) == (
        Keep(1, BREATH, statement_of("heart rate eighty eight")),
        Keep(2, BREATH, statement_of("pressure fourteen")),
        Keep(3, BREATH, statement_of("pupils four and reactive")),
        Remark(1),
        Remark(2),
        Remark(3),
        Say("heart rate, eight eight; pressure, one four; pupils reactive, four"),
    )


def test_one_confirm_confirms_the_breath() -> None:
    """A single "confirm" is for all that was read back together."""
    talking = breathed()
    assert talking.hears("confirm") == (Confirm(1), Confirm(2), Confirm(3), Sound(Tone.KEPT))
    assert all(taken.confirmed for taken in talking.state.taken)
    talking.hears("end leg")
    assert talking.says("end leg") == "leg ended, all confirmed"


def test_correction_within_a_breath_replaces_that_one() -> None:
    """One of a breath is replaced in its place, and the whole is read back and confirmed."""
    talking = breathed()
    assert talking.hears("correction pressure eighteen") == (
        Keep(4, "correction pressure eighteen", statement_of("pressure eighteen"), replaces=2),
        Remark(4),
        Say("heart rate, eight eight; correction, pressure, one eight; pupils reactive, four"),
    )
    assert talking.says("say again") == (
        "heart rate, eight eight; pressure, one eight; pupils reactive, four"
    )
    assert talking.hears("confirm") == (Confirm(1), Confirm(4), Confirm(3), Sound(Tone.KEPT))


def test_correction_within_a_breath_goes_by_what_it_is_about() -> None:
    """Of two of a kind in one breath, the side tells which is corrected."""
    talking = started()
    talking.hears("left pupil four reactive right pupil five fixed")
    keep = talking.hears("correction left pupil three reactive")[0]
    assert isinstance(keep, Keep)
    assert keep.replaces == 1


def test_correction_of_something_else_leaves_the_breath() -> None:
    """A correction of what is not in the breath leaves the breath unconfirmed, and says so."""
    talking = started()
    talking.hears("drain clamped")
    talking.hears("confirm")
    talking.hears("heart rate eighty eight pressure fourteen")
    assert talking.says("correction drain clamped for transfer") == (
        "heart rate, eight eight; pressure, one four: unconfirmed. "
        "in place of drain clamped: correction, drain clamped for, transfer"
    )


@pytest.mark.parametrize(
    ("answer", "told"),
    [
        ("no", "taken out; say it again"),
        (
            "scratch that",
            "taken out: heart rate, eight eight; pressure, one four; pupils reactive, four",
        ),
    ],
)
def test_a_waiting_breath_is_taken_out_whole(answer: str, told: str) -> None:
    """While a breath waits, "no" and "scratch that" take out all of it."""
    talking = breathed()
    withdrawn = tuple(Withdraw(number, answer) for number in (1, 2, 3))
    assert talking.hears(answer) == (*withdrawn, Say(told))
    assert talking.state.taken == ()


def test_what_a_breath_corrected_stands_again() -> None:
    """When a breath is refused, what was corrected within it stands again, and that is said."""
    talking = breathed()
    talking.hears("correction pressure eighteen")
    assert talking.says("no") == "taken out. pressure, one four: stands again; say it again"
    assert [taken.number for taken in talking.state.taken] == [2]


def test_after_the_breath_entries_are_taken_out_one_by_one() -> None:
    """Once nothing waits, "scratch that" takes out the last entry alone, and says which."""
    talking = breathed()
    talking.hears("confirm")
    assert talking.says("scratch that") == "taken out: pupils reactive, four"
    assert talking.says("scratch that") == "taken out: pressure, one four"
    assert [taken.number for taken in talking.state.taken] == [1]


def test_silence_leaves_the_whole_breath_unconfirmed() -> None:
    """When nobody answers, all of the breath stays unconfirmed, and that is said."""
    talking = breathed()
    talking.on(FellSilent(), after_s=4)
    assert talking.says(TimePassed(), after_s=12) == (
        "heart rate, eight eight; pressure, one four; pupils reactive, four: unconfirmed."
    )
    assert not any(taken.confirmed for taken in talking.state.taken)


def test_twin_within_a_breath_is_asked_about_alone() -> None:
    """Where one value of a breath is doubtful only that one is asked about; the rest comes with it."""
    talking = started()
    question = talking.says(
        two(
            "heart rate fifty pressure fifteen drain open",
            "heart rate fifty pressure fifty drain open",
        )
    )
    assert question == "pressure: one five, or five zero?"
    assert talking.says("one five") == "heart rate, five zero; pressure, one five; drain open"
    assert talking.state.name is StateName.CONFIRMING
    assert len(talking.state.waiting) == 3
