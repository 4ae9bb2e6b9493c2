"""What the nurse says and hears, case by case."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from tests.dialogue.talking import Talking, started, statement_of, two
from voice.dialogue.actions import (
    Answer,
    Confirm,
    EndLeg,
    Keep,
    Remark,
    Say,
    Sound,
    StartLeg,
    Tone,
    Withdraw,
)
from voice.dialogue.events import (
    FellSilent,
    HalfHeard,
    Mute,
    NoteHeard,
    OtherSpeech,
    SaidOver,
    SpeechUnclear,
    TimePassed,
    Trouble,
    WholeHeard,
)
from voice.dialogue.standing import END_ASKED, STANDS_BY_S
from voice.dialogue.state import DialogueState, StateName
from voice.dialogue.turn import ANSWER_WITHIN_S
from voice.entries.kinds.leg import SpokenNote
from voice.entries.leg import EntryState, Leg, LegEntry, LegSettings
from voice.entries.said import About, Question, Statement
from voice.meaning.unfinished import Lacks


def test_start_leg_says_the_unit_of_pressures() -> None:
    """The leg starts with a word on the unit in which pressures are taken."""
    assert Talking().hears("start leg") == (
        StartLeg(),
        Sound(Tone.HEARD),
        Say("leg started, pressures in millimetres of mercury"),
    )


@pytest.mark.parametrize("text", ["pressure fourteen", "confirm", "end leg", "total out"])
def test_nothing_is_taken_without_a_leg(text: str) -> None:
    """Without a leg, whatever is said is refused aloud."""
    talking = Talking()
    assert talking.hears(text) == (Sound(Tone.NOT_UNDERSTOOD), Say("no leg; say start leg"))
    assert talking.state.name is StateName.ASLEEP


def test_entry_is_kept_before_it_is_read_back() -> None:
    """An entry is written down first and read back then, its value last."""
    assert started().hears("pressure fourteen") == (
        Keep(1, "pressure fourteen", statement_of("pressure fourteen")),
        Remark(1),
        Say("pressure, one four"),
    )


def test_confirm_confirms_with_a_tone() -> None:
    """Only a tone follows "confirm"."""
    talking = started()
    talking.hears("pressure fourteen")
    assert talking.hears("confirm") == (Confirm(1), Sound(Tone.KEPT))
    assert talking.state.name is StateName.LISTENING


def test_second_confirm_has_nothing_to_confirm() -> None:
    """A "confirm" that nothing waits for confirms nothing, and that is said."""
    talking = started()
    talking.hears("pressure fourteen")
    talking.hears("confirm")
    assert talking.hears("confirm") == (Say("nothing to confirm"),)


def test_silence_leaves_the_entry_unconfirmed() -> None:
    """Twelve seconds after the read-back has ended the entry is left unconfirmed, aloud."""
    talking = started()
    talking.hears("pressure fourteen")
    talking.on(FellSilent(), after_s=2)
    assert talking.on(TimePassed(), after_s=ANSWER_WITHIN_S - 0.1) == ()
    assert talking.says(TimePassed(), after_s=0.1) == "pressure, one four: unconfirmed."
    assert talking.says("confirm") == "nothing to confirm"


def test_new_entry_leaves_the_waiting_one_unconfirmed() -> None:
    """A new entry says that the one before stays unconfirmed, and is itself read back last."""
    talking = started()
    talking.hears("pressure fourteen")
    assert (
        talking.says("heart rate eighty eight")
        == "pressure, one four: unconfirmed. heart rate, eight eight"
    )
    assert talking.hears("confirm")[0] == Confirm(2)


def test_no_takes_the_entry_out() -> None:
    """The word "no" withdraws the waiting entry and asks for it again."""
    talking = started()
    talking.hears("pressure fourteen")
    assert talking.hears("no") == (Withdraw(1, "no"), Say("taken out; say it again"))
    assert talking.state.taken == ()


def test_no_after_the_time_out_tells_what_to_say() -> None:
    """A "no" that comes too late is not passed over while the last entry is unconfirmed."""
    talking = started()
    talking.hears("pressure fourteen")
    talking.on(TimePassed(), after_s=ANSWER_WITHIN_S)
    assert talking.says("no") == "pressure, one four: unconfirmed; to take it out say scratch that"
    assert [taken.number for taken in talking.state.taken] == [1]
    assert isinstance(talking.hears("scratch that")[0], Withdraw)
    assert talking.hears("no") == ()


def test_other_speech_within_a_question_is_answered_by_a_tone() -> None:
    """What cannot be taken while a question is open is not passed over in silence."""
    talking = started()
    talking.on(two("pressure fifteen", "pressure fifty"))
    assert talking.on(OtherSpeech()) == (Sound(Tone.NOT_UNDERSTOOD),)
    assert talking.state.name is StateName.CHOOSING


@pytest.mark.parametrize("before", ["", "correction "])
def test_drug_in_a_wrong_unit_is_refused(before: str) -> None:
    """It is not kept, the right unit is said, and what waited is read again and waits on."""
    talking = started()
    refused = "not kept: fentanyl, five zero milligrams; that drug goes in micrograms"
    assert talking.hears(f"{before}fentanyl fifty milligrams") == (Say(refused),)
    assert talking.says("say again") == refused
    talking.hears("pressure fourteen")
    assert talking.hears(f"{before}fentanyl fifty milligrams") == (
        Say(refused), Say("pressure, one four"),
    )  # fmt: skip
    assert talking.hears("confirm") == (Confirm(1), Sound(Tone.KEPT))


def test_correction_of_the_waiting_entry() -> None:
    """A correction replaces the waiting entry, is read back, and waits to be confirmed."""
    talking = started()
    talking.hears("pressure fourteen")
    assert talking.hears("correction pressure eighteen") == (
        Keep(2, "correction pressure eighteen", statement_of("pressure eighteen"), replaces=1),
        Remark(2),
        Say("correction, pressure, one eight"),
    )
    assert talking.hears("confirm")[0] == Confirm(2)


def test_correction_of_a_confirmed_entry() -> None:
    """A correction also replaces an entry that was confirmed."""
    talking = started()
    talking.hears("pressure fourteen")
    talking.hears("confirm")
    keep, *_ = talking.hears("correction pressure eighteen")
    assert isinstance(keep, Keep)
    assert keep.replaces == 1


def test_correction_of_an_earlier_entry_names_it() -> None:
    """A correction of another kind than the last entry goes to the last of its kind, by name."""
    talking = started()
    talking.hears("pressure fourteen")
    talking.hears("confirm")
    talking.hears("heart rate eighty eight")
    keep, _, say = talking.hears("correction pressure eighteen")
    assert isinstance(keep, Keep)
    assert keep.replaces == 1
    assert say == Say(
        "heart rate, eight eight: unconfirmed. "
        "in place of pressure, one four: correction, pressure, one eight"
    )


def test_correction_without_anything_to_correct_is_a_new_entry() -> None:
    """Where there is nothing of its kind, a correction is kept as a new entry, and that is said."""
    talking = started()
    talking.hears("heart rate eighty eight")
    talking.hears("confirm")
    keep, _, say = talking.hears("correction pressure eighteen")
    assert isinstance(keep, Keep)
    assert keep.replaces is None
    assert say == Say("nothing to correct, new entry: pressure, one eight")


def test_correction_may_change_the_drug_of_the_last_entry() -> None:
    """Of the last entry the drug itself may be corrected, and the replaced one is named."""
    talking = started()
    talking.hears("propofol twenty milligrams")
    assert (
        talking.says("correction midazolam two milligrams")
        == "in place of propofol, two zero milligrams: correction, midazolam, two milligrams"
    )


def test_correction_of_an_earlier_dose_must_be_of_the_same_drug() -> None:
    """Of an earlier entry the drug tells which is meant: another drug is never replaced."""
    talking = started()
    talking.hears("propofol twenty milligrams")
    talking.hears("confirm")
    talking.hears("heart rate eighty eight")
    talking.hears("confirm")
    keep, *_ = talking.hears("correction midazolam two milligrams")
    assert isinstance(keep, Keep)
    assert keep.replaces is None


def test_refused_correction_lets_the_old_entry_stand() -> None:
    """When a correction is refused the old entry stands again, and that is said."""
    talking = started()
    talking.hears("pressure fourteen")
    talking.hears("correction pressure eighteen")
    assert talking.says("negative") == "taken out. pressure, one four: stands again; say it again"
    assert [taken.number for taken in talking.state.taken] == [1]


def test_scratch_that_takes_confirmed_entries_too() -> None:
    """To scratch withdraws the last entry, confirmed or not, and says what it takes away."""
    talking = started()
    talking.hears("pressure fourteen")
    talking.hears("confirm")
    assert talking.hears("scratch that") == (
        Withdraw(1, "scratch that"),
        Say("taken out: pressure, one four"),
    )
    assert talking.says("scratch that") == "nothing to take out"


def test_say_again_repeats_the_read_back_only() -> None:
    """Asked to say again, it repeats the read-back, without what was said before it."""
    talking = started()
    talking.hears("pressure fourteen")
    talking.hears("heart rate eighty eight")
    assert talking.says("say again") == "heart rate, eight eight"
    assert talking.hears("confirm")[0] == Confirm(2)


def test_say_again_repeats_an_answer() -> None:
    """With nothing waiting, "say again" repeats the last answer."""
    talking = started()
    talking.hears("total out")
    assert talking.hears("say again") == (Answer(Question(about=About.TOTAL_OUTPUT)),)


def test_read_last_makes_an_unconfirmed_entry_confirmable() -> None:
    """Asked to read last, it reads the last entry back, so that "confirm" can follow."""
    talking = started()
    talking.hears("pressure fourteen")
    talking.on(TimePassed(), after_s=20)
    answer = Answer(Question(about=About.LAST_ENTRY))
    assert talking.hears("read last") == (answer, Say("pressure, one four"))
    assert talking.hears("confirm")[0] == Confirm(1)
    assert talking.hears("read last") == (answer,)
    assert talking.says("confirm") == "nothing to confirm"


def test_what_was_not_read_back_cannot_be_confirmed() -> None:
    """When the read-back could not be spoken, "confirm" confirms nothing."""
    talking = started()
    talking.hears("pressure fourteen")
    assert talking.on(Mute()) == (Sound(Tone.TROUBLE),)
    assert talking.says("confirm") == "nothing to confirm"


def test_total_out_reads_the_waiting_entry_back_again() -> None:
    """After an answer in between, the waiting entry is read back again before it can be kept."""
    talking = started()
    talking.hears("pressure fourteen")
    assert talking.hears("total out") == (
        Answer(Question(about=About.TOTAL_OUTPUT)),
        Say("pressure, one four"),
    )


@pytest.mark.parametrize(
    ("answer", "kept"),
    [
        ("first", "pressure fifteen"),
        ("second", "pressure fifty"),
        ("one five", "pressure fifteen"),
        ("five zero", "pressure fifty"),
    ],
)
def test_choice_leads_to_the_read_back(answer: str, kept: str) -> None:
    """The reading that was chosen, by place or by value, is kept and read back as any other."""
    talking = started()
    question = talking.says(two("pressure fifteen", "pressure fifty"))
    assert question == "pressure: one five, or five zero?"
    keep, _, say = talking.hears(answer)
    assert keep == Keep(1, kept, statement_of(kept))
    assert isinstance(say, Say)
    assert talking.state.name is StateName.CONFIRMING


def test_choice_of_a_third_value_is_not_taken() -> None:
    """A value that neither reading holds chooses nothing."""
    talking = started()
    talking.on(two("pressure fifteen", "pressure fifty"))
    assert talking.hears("one six") == (Sound(Tone.NOT_UNDERSTOOD),)
    assert talking.state.name is StateName.CHOOSING


def test_choice_between_corrections_replaces() -> None:
    """A correction that was chosen replaces the entry that waits, without a word of it."""
    talking = started()
    talking.hears("pressure fourteen")
    talking.on(two("correction pressure fifteen", "correction pressure fifty"))
    keep, _, say = talking.hears("one five")
    assert isinstance(keep, Keep)
    assert keep.replaces == 1
    assert say == Say("correction, pressure, one five")


@pytest.mark.parametrize("answer", ["no", "scratch that"])
def test_refused_question_takes_neither(answer: str) -> None:
    """Where neither reading was meant, neither is kept, and what waits stays unconfirmed."""
    talking = started()
    talking.hears("heart rate eighty eight")
    talking.on(two("pressure fifteen", "pressure fifty"))
    assert (
        talking.says(answer) == "heart rate, eight eight: unconfirmed. neither taken; say it again"
    )
    assert [taken.number for taken in talking.state.taken] == [1]


def test_silence_after_a_question_takes_neither() -> None:
    """A question without an answer ends after twelve seconds, and that is said."""
    talking = started()
    talking.on(two("pressure fifteen", "pressure fifty"))
    talking.on(FellSilent())
    assert talking.on(TimePassed(), after_s=11.9) == ()
    assert talking.says(TimePassed(), after_s=0.2) == "neither taken; say it again"


def test_note_is_kept_as_sound_and_read_back() -> None:
    """A free note is an entry like any other: kept, read back, to be confirmed."""
    talking = started()
    assert talking.hears("take a note") == (Say("speak your note"), Sound(Tone.HEARD))
    assert talking.state.name.listening is None
    note = Statement(entry=SpokenNote())
    assert talking.on(NoteHeard()) == (Keep(1, "", note), Remark(1), Say("note"))
    assert talking.hears("confirm")[0] == Confirm(1)


def test_note_that_is_not_spoken_ends_aloud() -> None:
    """When no note is spoken the talk goes on, and that is said."""
    talking = started()
    talking.hears("take a note")
    assert talking.on(TimePassed(), after_s=1) == ()
    assert talking.says(TimePassed(), after_s=12) == "no note"
    assert talking.state.name is StateName.LISTENING


def test_not_understood_is_a_tone_and_once_words() -> None:
    """Not being understood costs a tone, the second time words, and never more."""
    talking = started()
    tone = Sound(Tone.NOT_UNDERSTOOD)
    told = [talking.on(SpeechUnclear()) for _ in range(4)]
    assert told == [(tone,), (tone, Say("say again")), (tone,), (tone,)]
    talking.hears("pressure fourteen")
    talking.on(SpeechUnclear())
    assert talking.says(SpeechUnclear()) == "not understood. pressure, one four"


def test_other_speech_changes_nothing() -> None:
    """Speech that is for others is passed over without a sound."""
    talking = started()
    talking.hears("pressure fourteen")
    before = talking.state
    assert talking.on(OtherSpeech()) == ()
    assert talking.state == before


def test_standing_by_hears_resume_only() -> None:
    """After "stand by" nothing but "resume" brings the talk back."""
    talking = started()
    talking.hears("pressure fourteen")
    assert talking.says("stand by") == "pressure, one four: unconfirmed. standing by"
    assert talking.on(SpeechUnclear()) == ()
    assert talking.says("start leg") == "standing by; say resume"
    assert talking.says("resume") == "listening"
    assert talking.says("confirm") == "nothing to confirm"


def test_a_forgotten_stand_by_is_told() -> None:
    """After fifteen minutes of standing by it says so, and again after as long, until "resume"."""
    talking = started()
    talking.says("stand by")
    assert talking.on(TimePassed(), after_s=STANDS_BY_S - 1) == ()
    assert talking.says(TimePassed(), after_s=1) == "still standing by; say resume"
    assert talking.on(TimePassed(), after_s=STANDS_BY_S - 1) == ()
    assert talking.says(TimePassed(), after_s=1) == "still standing by; say resume"
    talking.says("resume")
    assert talking.on(TimePassed(), after_s=STANDS_BY_S) == ()


def test_trouble_is_told_before_the_read_back_comes_again() -> None:
    """Trouble is told aloud in every state; what waits is read back again after it."""
    talking = started()
    talking.hears("pressure fourteen")
    assert talking.on(Trouble("The microphone has gone.")) == (
        Sound(Tone.TROUBLE),
        Say("The microphone has gone."),
        Say("pressure, one four"),
    )


def test_end_leg_counts_the_unconfirmed() -> None:
    """At the end the unconfirmed entries are counted aloud."""
    talking = started()
    for text in ("pressure fourteen", "confirm", "heart rate eighty eight", "drain open"):
        talking.hears(text)
    talking.hears("end leg")
    assert talking.hears("end leg") == (EndLeg(), Say("leg ended, 2 unconfirmed"))
    assert talking.state == DialogueState(said=Say("leg ended, 2 unconfirmed"))


def test_end_of_a_leg_in_order() -> None:
    """A leg without unconfirmed entries says so."""
    assert started().says("end leg") == "leg ended, all confirmed"


def test_a_leg_before_its_handover_is_ended_by_two_words() -> None:
    """A misheard "end leg" ends nothing: what is said next is kept, and what waited waits on."""
    talking = started()
    talking.hears("pressure fourteen")
    assert talking.hears("end leg") == (END_ASKED, Say("pressure, one four"))
    assert talking.hears("confirm") == (Confirm(1), Sound(Tone.KEPT))
    assert talking.hears("drain open")[0] == Keep(2, "drain open", statement_of("drain open"))
    assert talking.hears("end leg") == (END_ASKED, Say("drain open"))
    assert talking.hears("end leg") == (EndLeg(), Say("leg ended, 1 unconfirmed"))


@pytest.mark.parametrize(
    "text", ["handed over", "handed over to the receiving nurse", "transport cancelled"]
)
def test_a_leg_that_is_over_ends_at_once(text: str) -> None:
    """After the handover, or where nobody travels any more, "end leg" is said once."""
    talking = started()
    talking.hears("pressure fourteen")
    talking.hears(text)
    assert talking.hears("end leg") == (EndLeg(), Say("leg ended, 2 unconfirmed"))


def test_choice_of_a_value_that_both_readings_hold_is_not_taken() -> None:
    """A value that is in both readings chooses neither."""
    talking = started()
    talking.on(two("blood pressure one fifteen over sixty", "blood pressure one fifty over sixty"))
    assert talking.hears("six zero") == (Sound(Tone.NOT_UNDERSTOOD),)
    keep = talking.hears("one five zero")[0]
    assert isinstance(keep, Keep)
    assert keep.text == "blood pressure one fifty over sixty"


def test_correction_goes_to_the_latest_of_its_kind() -> None:
    """Of several earlier entries about the same thing the latest is corrected."""
    talking = started()
    for text in ("pressure fourteen", "pressure sixteen", "drain open"):
        talking.hears(text)
    keep = talking.hears("correction pressure eighteen")[0]
    assert isinstance(keep, Keep)
    assert keep.replaces == 2


def test_talk_goes_on_after_a_break_with_the_time_that_was_said() -> None:
    """An entry of before the break is read back with the time at which it happened."""
    noon = datetime(2030, 5, 1, 12, tzinfo=UTC)
    entry = LegEntry(
        number=3,
        entry=statement_of("drain clamped").entry,
        heard="drain clamped five minutes ago",
        spoken_at=noon,
        happened_at=noon - timedelta(minutes=5),
        state=EntryState.UNCONFIRMED,
    )
    leg = Leg(id="a", settings=LegSettings(utc_offset_min=60), started_at=noon, entries=(entry,))
    talking = Talking(DialogueState.resumed(leg))
    assert talking.says("read last") == "at one two five five, drain clamped"
    assert talking.hears("confirm")[0] == Confirm(3)


def test_what_a_correction_replaced_is_as_confirmed_as_before() -> None:
    """After a break, an entry that stands again was confirmed if it had been."""
    noon = datetime(2030, 5, 1, 12, tzinfo=UTC)
    old, new = (
        LegEntry(
            number=number,
            entry=statement_of(text).entry,
            heard=text,
            spoken_at=noon,
            happened_at=noon,
            state=state,
            was_confirmed=number == 1,
            replaces=replaces,
        )
        for number, text, state, replaces in (
            (1, "pressure fourteen", EntryState.CORRECTED, None),
            (2, "pressure eighteen", EntryState.UNCONFIRMED, 1),
        )
    )
    leg = Leg(id="a", settings=LegSettings(), started_at=noon, entries=(old, new))
    talking = Talking(DialogueState.resumed(leg))
    talking.hears("scratch that")
    assert [(taken.number, taken.confirmed) for taken in talking.state.taken] == [(1, True)]
    talking.hears("end leg")
    assert "all confirmed" in talking.says("end leg")


def test_question_is_answered_and_what_waits_read_back_again() -> None:
    """A question writes nothing, and "confirm" after it is for the entry that still waits."""
    talking = started()
    talking.hears("pressure fourteen")
    asked = Answer(Question(about=About.HOURLY_OUTPUT))
    assert talking.hears("hourly output") == (asked, Say("pressure, one four"))
    assert talking.hears("confirm")[0] == Confirm(1)
    assert talking.hears("hourly output") == (asked,)
    assert talking.hears("say again") == (asked,)


def half(text: str, lacks: Lacks, *, given_up: bool = False) -> HalfHeard:
    """A phrase that broke off."""
    return HalfHeard(text, lacks, given_up)


def test_what_broke_off_is_asked_for_and_what_waits_is_read_again() -> None:
    """A value that is missing is asked for in its name's own words; "confirm" still follows the read-back."""
    talking = started()
    assert talking.says(half("peep", Lacks.NUMBER)) == "peep: how much?"
    assert talking.says(half("peep", Lacks.NUMBER, given_up=True)) == "peep: not taken"
    assert talking.says(half("drain", Lacks.REST)) == "drain: not taken; say all of it"
    talking.hears("pressure fourteen")
    told = talking.says(half("at nine", Lacks.ENTRY, given_up=True))
    assert told == "the time was not taken; say it with its entry / pressure, one four"
    assert talking.state.name is StateName.CONFIRMING


@pytest.mark.parametrize(
    ("before", "again"),
    [
        ((), ""),
        (("pressure fourteen",), " / pressure, one four"),
        (("check before the move",), " / is the drain clamped?"),
    ],
)
def test_what_was_said_over_our_words_is_told(before: tuple[str, ...], again: str) -> None:
    """It is named, so that she knows what to say again, and the open read-back or question follows."""
    talking = started()
    for text in before:
        talking.hears(text)
    state = talking.state
    told = talking.says(SaidOver("drained six mils"))
    assert told == f"drained six mils: not taken; say it again{again}"
    assert talking.state.name is state.name
    assert talking.state.taken == state.taken


def test_the_whole_takes_the_place_of_its_part() -> None:
    """What was kept in part is replaced before it is confirmed, and read back anew; "confirm" is for the whole."""
    talking = started()
    talking.hears("pressure fourteen")
    whole = statement_of("pressure fourteen five minutes ago")
    kept, *_, said = talking.on(WholeHeard("pressure fourteen five minutes ago", (whole,)))
    assert kept == Keep(2, "pressure fourteen five minutes ago", whole, replaces=1)
    assert said == Say("correction, five minutes ago, pressure, one four")
    assert talking.hears("confirm")[0] == Confirm(2)


def test_a_whole_of_another_kind_tells_what_it_takes_out() -> None:
    """Where the part was heard as something else, that is taken out by name."""
    talking = started()
    talking.hears("peep seventeen")
    whole = statement_of("at ten seventeen drain clamped")
    actions = talking.on(WholeHeard("at ten seventeen drain clamped", (whole,)))
    assert actions[:2] == (
        Withdraw(1, "more was said"),
        Keep(2, "at ten seventeen drain clamped", whole),
    )
    assert actions[-1] == Say("in place of peep, one seven: at one zero one seven, drain clamped")
    assert [one.number for one in talking.state.taken] == [2]


def test_a_whole_that_is_refused_leaves_its_part() -> None:
    """A drug in a unit in which it is not given is refused, and what was kept before it waits on."""
    talking = started()
    talking.hears("propofol twenty milligrams")
    wrong = statement_of("fentanyl fifty milligrams")
    assert talking.says(WholeHeard("fentanyl fifty milligrams", (wrong,))).startswith("not kept")
    assert [one.number for one in talking.state.waiting] == [1]
