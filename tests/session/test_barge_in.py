"""What is said while the program itself speaks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.meaning.acceptors import accepts
from tests.session.scripted import (
    DEAF_AFTER_S,
    GRAMMAR,
    INTERRUPTIONS,
    MUMBLED,
    WORD_S,
    NoEcho,
    Said,
    ScriptedVoice,
    Sitting,
    Tone,
    says,
)
from voice.entries.leg import EntryState
from voice.meaning.decision import Accept, Doubt, NotUnderstood
from voice.meaning.interrupting import interruptions
from voice.record.events import from_text
from voice.record.part import Part
from voice.review.heard import Sounds, was_for_us
from voice.session.barge_in import LOOK_EACH_S, SHORTEST_S
from voice.session.progress import SegmentHeard

if TYPE_CHECKING:
    from pathlib import Path

    from voice.record.chain import Row

READ_BACK = "pressure, one four"
OVER_US = NotUnderstood(doubt=Doubt.OVER_US)


def over(text: str) -> Said:
    """Said while the program speaks."""
    return Said(text, barges_in=True)


def sitting(
    path: Path, *events: str | Said, ear: NoEcho | None = None, speaks_s: float = WORD_S
) -> Sitting:
    """A leg in which the program listens while it speaks, each sentence for ``speaks_s``."""
    voice = ScriptedVoice(speaks_s)
    return Sitting(path, says("start leg", *events), over=ear or NoEcho(), voice=voice).run()


def states(sat: Sitting) -> list[tuple[str, EntryState]]:
    """What became of the entries."""
    return [(entry.entry.kind, entry.state) for entry in sat.leg().entries]


def test_what_is_listened_for() -> None:
    """The words are those of the talk that cannot wait, "stop", and the beginning of a correction."""
    for text in (
        "confirm",
        "no",
        "negative",
        "scratch that",
        "stop",
        "stop reading",
        "correction",
        "no wait",
    ):
        assert accepts(INTERRUPTIONS, text)
    for text in ("pressure fourteen", "end leg", "yes", "first", "correction pressure eighteen"):
        assert not accepts(INTERRUPTIONS, text)


def test_an_attention_word_falls_in_by_itself() -> None:
    """Where one was chosen it is listened for alone and before the words; "confirm" alone only makes silence."""
    guarded = interruptions(GRAMMAR.guarded("secretary"))
    for text in ("secretary", "secretary confirm", "secretary correction", "say again", "confirm"):
        assert accepts(guarded, text)
    for text in ("secretary pressure fourteen", "secretary secretary", "confirm secretary"):
        assert not accepts(guarded, text)


def test_a_confirm_before_the_value_does_not_count(tmp_path: Path) -> None:
    """Who confirms before the value was spoken is told so, hears it, and can confirm then."""
    sat = sitting(tmp_path, "pressure fourteen", over("confirm"), "confirm")
    assert sat.spoken[-4:] == [READ_BACK, "not yet", READ_BACK, f"({Tone.KEPT})"]
    assert states(sat) == [("pressure", EntryState.CONFIRMED)]
    (early,) = [one for one in sat.progress if isinstance(one, SegmentHeard)][2:3]
    assert early.decision == NotUnderstood(doubt=Doubt.TOO_SOON)


def test_a_confirm_before_the_value_alone_keeps_nothing(tmp_path: Path) -> None:
    """However often it is said too soon, the entry stays unconfirmed."""
    sat = sitting(tmp_path, "pressure fourteen", *[over("confirm")] * 3)
    assert states(sat) == [("pressure", EntryState.UNCONFIRMED)]


BOTH = "confirm drained six mils"
NOT_TAKEN = f"{BOTH}: not taken; say it again"


def test_a_confirm_and_the_next_entry_count_when_all_was_heard(tmp_path: Path) -> None:
    """What was read back is confirmed, and what came in the same breath is read back and waits."""
    sat = sitting(tmp_path, "pressure fourteen", BOTH)
    assert sat.spoken[-3:] == [READ_BACK, f"({Tone.KEPT})", "drained, six mils"]
    assert states(sat) == [
        ("pressure", EntryState.CONFIRMED),
        ("drained", EntryState.UNCONFIRMED),
    ]


def test_a_confirm_and_the_next_entry_over_the_value_are_told(tmp_path: Path) -> None:
    """Said before the value had sounded, neither counts, and both are named; then the value is read back again."""
    sat = sitting(tmp_path, "pressure fourteen", over(BOTH), "confirm")
    assert sat.spoken[-4:] == [READ_BACK, NOT_TAKEN, READ_BACK, f"({Tone.KEPT})"]
    assert states(sat) == [("pressure", EntryState.CONFIRMED)]


def test_a_confirm_and_the_next_entry_after_stop_are_told(tmp_path: Path) -> None:
    """What "stop" cut off has to be heard before it is confirmed, however the "confirm" goes on."""
    sat = sitting(tmp_path, "pressure fourteen", over("stop"), BOTH, BOTH)
    assert sat.spoken[-5:] == [
        READ_BACK, NOT_TAKEN, READ_BACK, f"({Tone.KEPT})", "drained, six mils",
    ]  # fmt: skip
    sat = sitting(
        tmp_path / "b", "pressure fourteen", over("stop"), Said("confirm drained …"), "six mils"
    )
    assert sat.spoken[-2:] == ["confirm drained: not taken; say it again", READ_BACK]
    assert states(sat) == [("pressure", EntryState.UNCONFIRMED)]


def test_we_fall_silent_at_a_word(tmp_path: Path) -> None:
    """As soon as a word is sure nothing more is played: a look after it is long enough."""
    sat = Sitting(tmp_path, says("start leg", "pressure fourteen", over("no")), over=NoEcho())
    silent_s: list[float] = []
    fall_silent = sat.mouth.fall_silent

    def note(at_s: float) -> None:
        silent_s.append(at_s)
        fall_silent(at_s)

    sat.mouth.fall_silent = note  # type: ignore[method-assign]
    sat.run()
    begun_s = sat.script.said[-1][0]
    assert len(silent_s) == 1
    assert SHORTEST_S < silent_s[0] - begun_s < SHORTEST_S + LOOK_EACH_S + 0.05


@pytest.mark.parametrize(
    ("word", "told"),
    [("no", "taken out; say it again"), ("scratch that", f"taken out: {READ_BACK}")],
)
def test_what_takes_back_counts_at_any_time(tmp_path: Path, word: str, told: str) -> None:
    """An entry is withdrawn before its read-back has ended."""
    sat = sitting(tmp_path, "pressure fourteen", over(word))
    assert sat.spoken[-2:] == [READ_BACK, told]
    assert sat.leg().entries[0].state is EntryState.WITHDRAWN


def test_a_correction_counts_at_any_time(tmp_path: Path) -> None:
    """A whole correction that begins over the read-back is taken, and read back itself."""
    sat = sitting(tmp_path, "pressure fourteen", over("correction pressure eighteen"), "confirm")
    assert sat.spoken[-2:] == ["correction, pressure, one eight", f"({Tone.KEPT})"]
    assert [entry.state for entry in sat.leg().entries if entry.counts] == [EntryState.CONFIRMED]


def test_no_wait_takes_nothing_back_by_itself(tmp_path: Path) -> None:
    """Who corrects herself over the read-back is heard to the end: "no wait" and an entry correct, and are no "no"."""
    sat = sitting(tmp_path, "pressure fourteen", over("no wait pressure eighteen"))
    assert sat.spoken[-2:] == [READ_BACK, "correction, pressure, one eight"]
    sat = sitting(tmp_path / "b", "drain clamped", over("no wait drain open"))
    assert sat.spoken[-1].endswith(
        "drain clamped: unconfirmed. nothing to correct, new entry: drain open"
    )


def test_stop_makes_silence_and_no_more(tmp_path: Path) -> None:
    """After "stop" nothing is said, and what was cut off has to be heard before it is confirmed."""
    sat = sitting(tmp_path, "pressure fourteen", over("stop"))
    assert sat.spoken[-1] == READ_BACK
    sat = sitting(tmp_path, "pressure fourteen", over("stop"), Said("confirm"), Said("confirm"))
    assert sat.spoken[-4:] == [READ_BACK, "not yet", READ_BACK, f"({Tone.KEPT})"]


def test_what_stop_cut_off_is_not_heard_by_a_tone(tmp_path: Path) -> None:
    """A "confirm" over a mere tone is none for what "stop" cut off before: that has to be heard first."""
    mumbled = Said(MUMBLED, pause_s=0.5)
    sat = sitting(tmp_path, "pressure fourteen", over("stop"), mumbled, over("confirm"))
    assert sat.spoken[3:] == [READ_BACK, f"({Tone.NOT_UNDERSTOOD})", "not yet", READ_BACK]
    assert states(sat) == [("pressure", EntryState.UNCONFIRMED)]


def test_after_stop_another_entry_can_be_confirmed(tmp_path: Path) -> None:
    """What was cut off stands in the way of nothing but its own confirmation."""
    sat = sitting(tmp_path, "pressure fourteen", over("stop"), "drain clamped", "confirm")
    assert states(sat) == [
        ("pressure", EntryState.UNCONFIRMED),
        ("drain_clamped", EntryState.CONFIRMED),
    ]


@pytest.mark.parametrize("speaks_s", [WORD_S, 3.0], ids=["on", "to its end"])
@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("heart rate eighty eight", "heart rate eighty eight"),
        ("total out", "total out"),
        ("correction pressure eighteen/pressure eighty", "correction pressure eighteen, or pressure eighty"),
        ("arterial carbon dioxide …", "arterial carbon dioxide"),
    ],
)  # fmt: skip
def test_what_is_said_over_us_is_told_not_to_be_taken(
    tmp_path: Path, text: str, told: str, speaks_s: float
) -> None:
    """Whether it ends over our words or goes on after them, the nurse hears what to say again, and the read-back."""
    sat = sitting(tmp_path, "pressure fourteen", over(text), "confirm", speaks_s=speaks_s)
    assert sat.spoken[3:] == [
        READ_BACK,
        f"{told}: not taken; say it again",
        READ_BACK,
        f"({Tone.KEPT})",
    ]
    assert states(sat) == [("pressure", EntryState.CONFIRMED)]
    missed = [one for one in sat.progress if isinstance(one, SegmentHeard)][2]
    assert missed.decision == OVER_US


def test_what_was_said_over_us_can_be_heard_at_the_desk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its sound is kept, and whoever reviews the leg is told that an entry may be missing."""
    append, sounds = Part.append, Sounds()

    def note(part: Part, row: Row) -> None:
        sounds.take(row.number, from_text(row.text))
        append(part, row)

    monkeypatch.setattr(Part, "append", note)
    sitting(tmp_path, "pressure fourteen", over("heart rate eighty eight"))
    (missed,) = [event for _, event in sounds.gaps() if event.decision == OVER_US]
    assert was_for_us(missed)
    assert missed.alternatives[0].text == "heart rate eighty eight"
    assert missed.clip is not None


def test_an_answer_goes_on_after_what_was_said_over_it(tmp_path: Path) -> None:
    """We fall silent to tell what is not taken, and then say the rest of what nobody waits to confirm."""
    sat = sitting(tmp_path, "what is left", over("drain clamped"), speaks_s=3.0)
    answer, told, *rest = sat.spoken[3:]
    assert told == "drain clamped: not taken; say it again"
    assert " ".join(rest) == answer


def test_what_nobody_made_out_over_us_is_a_tone(tmp_path: Path) -> None:
    """Speech to us over our words that nobody understands is answered as ever; other talk is passed over."""
    sat = sitting(tmp_path, "pressure fourteen", over(MUMBLED), speaks_s=3.0)
    assert sat.spoken[3:] == [READ_BACK, f"({Tone.NOT_UNDERSTOOD})"]
    sat = sitting(tmp_path / "b", "pressure fourteen", over("the bed is ready"), speaks_s=3.0)
    assert sat.spoken[3:] == [READ_BACK]


def test_what_repeats_us_is_not_said_once_more(tmp_path: Path) -> None:
    """The words that we are saying may be an echo: a tone tells that they were heard, and nothing else."""
    sat = sitting(tmp_path, "pressure fourteen", over("pressure one four"), speaks_s=3.0)
    assert sat.spoken[3:] == [READ_BACK, f"({Tone.NOT_UNDERSTOOD})"]


@pytest.mark.parametrize(
    ("speaks_s", "then"), [(WORD_S, [f"({Tone.NOT_UNDERSTOOD})"]), (3.0, [])], ids=["on", "to its end"]
)  # fmt: skip
def test_a_rest_of_our_own_voice_is_not_told(
    tmp_path: Path, speaks_s: float, then: list[str]
) -> None:
    """What is mostly our own voice is nobody's; what goes on after it is heard from there, as cut."""
    sat = sitting(
        tmp_path,
        "pressure fourteen",
        over("heart rate eighty eight"),
        ear=NoEcho(removed_db=20),
        speaks_s=speaks_s,
    )
    assert sat.spoken[3:] == [READ_BACK, *then]


@pytest.mark.parametrize("text", ["drain clamped", "confirm", "no drip at zero"])
def test_what_begins_when_all_has_sounded_is_taken(tmp_path: Path, text: str) -> None:
    """In the moment for which the microphone stays deaf after our words, nothing is lost any more."""
    first = Said("pressure fourteen", pause_s=1.45)
    sat = sitting(tmp_path, first, over(text))
    begun_s = sat.script.said[-1][0]
    assert 0 < begun_s - (sat.script.said[1][0] + 1.0 + 0.6 + WORD_S) < DEAF_AFTER_S
    last = [one for one in sat.progress if isinstance(one, SegmentHeard)][-1]
    assert isinstance(last.decision, Accept)
    assert last.text == text
    assert sat.spoken[-1] != f"({Tone.NOT_UNDERSTOOD})"


@pytest.mark.parametrize("ear", [None, NoEcho(learned=False)], ids=["deaf", "not learned"])
def test_the_end_of_what_began_over_us_is_a_tone(tmp_path: Path, ear: NoEcho | None) -> None:
    """Where nobody is heard over us, the end of a phrase that outlasts our words is told as not understood."""
    events = says("start leg", "pressure fourteen", over("six mils"))
    sat = Sitting(tmp_path, events, over=ear).run()
    assert sat.spoken[3:] == [READ_BACK, f"({Tone.NOT_UNDERSTOOD})"]


def test_what_only_begins_as_a_word_is_nothing(tmp_path: Path) -> None:
    """Talk that begins with one of the words silences us; when it has ended we say the rest."""
    sat = sitting(tmp_path, "pressure fourteen", over("no more of this"), "confirm")
    assert sat.spoken[-3:] == [READ_BACK, READ_BACK, f"({Tone.KEPT})"]
    assert states(sat) == [("pressure", EntryState.CONFIRMED)]


def test_a_word_that_we_say_ourselves_is_nobodys(tmp_path: Path) -> None:
    """While we say "nothing to confirm", nobody is heard to say "confirm"."""
    sat = sitting(tmp_path, "confirm", over("confirm"))
    assert sat.spoken[-2:] == ["nothing to confirm", f"({Tone.NOT_UNDERSTOOD})"]


def test_a_rest_of_our_own_voice_is_nobodys(tmp_path: Path) -> None:
    """Where far more was taken out than is left, what is left is not listened to."""
    sat = sitting(tmp_path, "pressure fourteen", over("no"), ear=NoEcho(removed_db=20))
    assert states(sat) == [("pressure", EntryState.UNCONFIRMED)]


def test_before_our_own_voice_is_known_nobody_is_heard_over_it(tmp_path: Path) -> None:
    """Until the way from speaker to microphone has been learned we are deaf while we speak."""
    sat = sitting(tmp_path, "pressure fourteen", over("no"), ear=NoEcho(learned=False))
    assert states(sat) == [("pressure", EntryState.UNCONFIRMED)]


def test_a_recogniser_that_fails_over_us_does_no_harm(tmp_path: Path) -> None:
    """Whatever it fails of, we speak on, and the leg goes on."""
    sat = sitting(tmp_path, "pressure fourteen", over("crash"), "confirm")
    assert states(sat) == [("pressure", EntryState.CONFIRMED)]


def test_no_before_a_question_has_been_asked_is_no_answer(tmp_path: Path) -> None:
    """Within a check "no" is an answer: the question must have been heard."""
    sat = sitting(tmp_path, "check before the move", over("no"))
    question = sat.spoken[-1]
    assert sat.spoken[-2:] == ["not yet", question]
    assert sat.leg().entries == ()
