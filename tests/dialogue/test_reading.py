"""Going on in a long answer, and reading through what is unconfirmed."""

from __future__ import annotations

from tests.dialogue.talking import Talking, started
from voice.dialogue.actions import Answer, Confirm, Keep, Say, Sound, Tone, When, Withdraw
from voice.dialogue.events import FellSilent, TimePassed
from voice.dialogue.state import StateName
from voice.dialogue.turn import ANSWER_WITHIN_S
from voice.entries.said import About, Question

REPORT = Question(about=About.REPORT)


def three_unconfirmed() -> Talking:
    """A talk in which three entries were left unconfirmed, and one in between confirmed."""
    talking = started()
    for text in ("pressure fourteen", "heart rate eighty eight"):
        talking.hears(text)
    talking.hears("confirm")
    for text in ("drain clamped five minutes ago", "temperature thirty seven"):
        talking.hears(text)
    return talking


def test_unconfirmed_entries_are_read_one_after_the_other() -> None:
    """Each is read with the time at which it happened, and "confirm" leads to the next."""
    talking = three_unconfirmed()
    assert talking.hears("read unconfirmed") == (
        Say("three unconfirmed"), When(1), Say("pressure, one four"),
    )  # fmt: skip
    assert talking.hears("confirm") == (
        Confirm(1), Sound(Tone.KEPT), Say("five minutes ago, drain clamped"),
    )  # fmt: skip
    assert talking.hears("confirm") == (
        Confirm(3), Sound(Tone.KEPT), When(4), Say("temperature, three seven"),
    )  # fmt: skip
    assert talking.hears("confirm") == (Confirm(4), Sound(Tone.KEPT), Say("all read"))
    assert talking.state.name is StateName.LISTENING
    assert talking.says("read unconfirmed") == "nothing is unconfirmed"


def test_next_leaves_an_entry_unconfirmed() -> None:
    """The word "next" goes on without confirming, and says so."""
    talking = three_unconfirmed()
    talking.hears("read unconfirmed")
    assert talking.says("next one") == "left unconfirmed / five minutes ago, drain clamped"
    assert talking.hears("confirm")[0] == Confirm(3)
    assert talking.says("next one") == "left unconfirmed / all read"
    assert [taken.confirmed for taken in talking.state.taken] == [False, True, True, False]


def test_no_takes_the_read_entry_out_and_goes_on() -> None:
    """A "no" takes out what was just read, not what was said last."""
    talking = three_unconfirmed()
    talking.hears("read unconfirmed")
    assert talking.hears("no") == (
        Withdraw(1, "no"), Say("taken out"), Say("five minutes ago, drain clamped"),
    )  # fmt: skip


def test_correction_is_of_the_read_entry_and_the_reading_goes_on() -> None:
    """A correction stands for the entry that was read; its "confirm" leads to the next."""
    talking = three_unconfirmed()
    talking.hears("pressure twenty")
    talking.hears("read unconfirmed")
    keep = talking.hears("correction pressure eighteen")[0]
    assert isinstance(keep, Keep)
    assert keep.replaces == 1
    assert talking.hears("confirm") == (
        Confirm(6), Sound(Tone.KEPT), Say("five minutes ago, drain clamped"),
    )  # fmt: skip


def test_new_entry_ends_the_reading() -> None:
    """What is said in between is kept, what was read stays unconfirmed, and no more is read."""
    talking = three_unconfirmed()
    talking.hears("read unconfirmed")
    assert talking.says("pressure twenty") == "pressure, one four: unconfirmed. pressure, two zero"
    assert talking.hears("confirm") == (Confirm(5), Sound(Tone.KEPT))


def test_silence_ends_the_reading() -> None:
    """After twelve seconds the entry stays unconfirmed, and no more is read."""
    talking = three_unconfirmed()
    talking.hears("read unconfirmed")
    talking.on(FellSilent(), after_s=1)
    assert talking.says(TimePassed(), after_s=ANSWER_WITHIN_S) == "pressure, one four: unconfirmed."
    assert talking.says("next one") == "nothing to go on with"


def test_question_in_between_leaves_the_reading_where_it_is() -> None:
    """After the answer the read entry is read again, and "confirm" is for it."""
    talking = three_unconfirmed()
    talking.hears("read unconfirmed")
    assert talking.hears("what is the order")[-1] == Say("pressure, one four")
    assert talking.hears("confirm")[0] == Confirm(1)
    assert talking.state.name is StateName.CONFIRMING


def test_stop_reading_stops() -> None:
    """Nothing more is read, and what was read last stays unconfirmed."""
    talking = three_unconfirmed()
    talking.hears("read unconfirmed")
    assert talking.says("stop reading") == "pressure, one four: unconfirmed. stopped"
    assert talking.state.name is StateName.LISTENING


def test_entries_that_follow_are_read_even_where_one_was_taken_out() -> None:
    """What has been confirmed or taken out since is passed over."""
    talking = three_unconfirmed()
    talking.hears("read unconfirmed")
    talking.state = talking.state.with_taken(without=talking.state.taken[2:3])
    assert talking.hears("confirm")[-1] == Say("temperature, three seven")


def test_long_answer_goes_on_part_by_part() -> None:
    """Each "next part" tells the next; entries in between do not lose the place; "stop" does."""
    talking = started()
    assert talking.hears("read the report") == (Answer(REPORT),)
    assert talking.hears("next part") == (Answer(REPORT, 1),)
    assert talking.hears("say again") == (Answer(REPORT, 1),)
    talking.hears("pressure fourteen")
    assert talking.hears("next part") == (Answer(REPORT, 2), Say("pressure, one four"))
    assert talking.hears("confirm")[0] == Confirm(1)
    assert talking.hears("next part") == (Answer(REPORT, 3),)
    assert talking.says("stop reading") == "stopped"
    assert talking.says("next part") == "nothing to go on with"
