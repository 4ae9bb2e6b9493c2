"""Phrases that fall apart at a pause, by a script."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
import soundfile

from tests.session.scripted import MUMBLED, NoEcho, Said, ScriptedEars, Sitting, says
from voice.dialogue.actions import Tone
from voice.dialogue.turn import ANSWER_WITHIN_S
from voice.entries.leg import EntryState
from voice.hearing.segmenter import joined
from voice.meaning.decision import Accept, Doubt, NotUnderstood
from voice.record.events import Heard, from_text
from voice.record.part import Part
from voice.record.shelf import verify
from voice.session.joining import CONFIRMED_S, JOIN_S
from voice.session.progress import SegmentHeard

if TYPE_CHECKING:
    from pathlib import Path

    from voice.entries.heard import Hearing, Segment
    from voice.meaning.decision import Decision
    from voice.meaning.listening import Listening
    from voice.record.chain import Row

PAUSES_S = (0.5, 0.7, 1.2, 2.1)
"""And 0.3 s more, with which all that is said begins."""
HOW_MUCH = "arterial carbon dioxide: how much?"
TIME_LOST = "the time was not taken; say it with its entry"
AT_NINE = "correction, at zero nine zero five, pressure, one four"
LOW, KEPT = f"({Tone.NOT_UNDERSTOOD})", f"({Tone.KEPT})"


def half(text: str, pause_s: float = 3.0) -> Said:
    """A phrase that breaks off, and the silence after it."""
    return Said(f"{text} …", pause_s=pause_s)


def over(text: str) -> Said:
    """Something said while the program speaks."""
    return Said(text, barges_in=True)


def sitting(tmp_path: Path, *script: str | Said) -> Sitting:
    """A leg with what is said in it, and what is said over our own words."""
    return Sitting(tmp_path, says("start leg", *script), over=NoEcho()).run()


def entries(sat: Sitting) -> list[tuple[str, EntryState]]:
    """What counts of a leg, and how it stands."""
    return [(entry.heard, entry.state) for entry in sat.leg().entries if entry.counts]


@pytest.mark.parametrize("pause_s", PAUSES_S)
def test_a_value_after_a_pause_is_heard_with_its_name(tmp_path: Path, pause_s: float) -> None:
    """The two halves of a phrase become one entry, of which nothing is said before it is whole."""
    sat = sitting(tmp_path, half("arterial carbon dioxide", pause_s), "four point nine")
    assert sat.spoken[3:] == ["blood gas carbon dioxide, four point nine kilopascals"]
    assert entries(sat) == [("arterial carbon dioxide four point nine", EntryState.UNCONFIRMED)]
    assert verify(sat.keeper.folder).intact


def test_a_value_that_does_not_come_is_asked_for(tmp_path: Path) -> None:
    """A name without its value makes no entry; it is asked about, and the value alone answers."""
    sat = sitting(tmp_path, half("arterial carbon dioxide", JOIN_S + 0.5))
    assert sat.spoken[3:] == [HOW_MUCH]
    assert entries(sat) == []
    sat = sitting(
        tmp_path / "again", half("arterial carbon dioxide", JOIN_S + 0.5), "four point nine"
    )
    assert sat.spoken[3:] == [
        HOW_MUCH,
        "blood gas carbon dioxide, four point nine kilopascals",
    ]
    assert len(entries(sat)) == 1


def test_a_time_before_its_entry_is_heard_with_it(tmp_path: Path) -> None:
    """A time, a pause and an entry are one entry at that time, though the second half is an entry itself."""
    sat = sitting(tmp_path, half("at nine oh five", 1.0), "pressure fourteen")
    assert sat.spoken[3:] == ["at zero nine zero five, pressure, one four"]
    assert [e.happened_at.minute for e in sat.leg().entries] == [5]


def test_a_time_said_over_the_read_back_takes_its_place(tmp_path: Path) -> None:
    """A time that follows over our own words silences them; the entry with its time is read back anew."""
    sat = sitting(tmp_path, "pressure fourteen", over("at nine oh five …"), "confirm")
    assert sat.spoken[3:] == ["pressure, one four", AT_NINE, KEPT]
    assert entries(sat) == [("pressure fourteen at nine oh five", EntryState.CONFIRMED)]
    assert [entry.counts for entry in sat.leg().entries] == [False, True]


def test_a_time_that_answers_the_read_back_takes_its_place(tmp_path: Path) -> None:
    """However long after, a time alone belongs to the entry that waits to be confirmed."""
    sat = sitting(tmp_path, "pressure fourteen", half("at nine oh five"), "confirm")
    assert sat.spoken[3:] == ["pressure, one four", AT_NINE, KEPT]


def test_a_time_after_confirm_is_offered_as_a_correction(tmp_path: Path) -> None:
    """Soon after "confirm" a time alone corrects what was confirmed, and is read back for another "confirm"."""
    script = ("pressure fourteen", "confirm", half("at nine oh five", JOIN_S + 0.5))
    sat = sitting(tmp_path, *script, "confirm")
    assert sat.spoken[3:] == ["pressure, one four", KEPT, AT_NINE, KEPT]
    assert entries(sat) == [("pressure fourteen at nine oh five", EntryState.CONFIRMED)]
    assert [e.happened_at.minute for e in sat.leg().entries if e.counts] == [5]
    assert verify(sat.keeper.folder).intact
    sat = sitting(tmp_path / "b", *script, "no")
    assert sat.spoken[-1] == "taken out. pressure, one four: stands again; say it again"
    assert entries(sat) == [("pressure fourteen", EntryState.CONFIRMED)]


def test_what_makes_another_entry_of_the_confirmed_one_is_no_time(tmp_path: Path) -> None:
    """Only a time corrects what was confirmed unasked; a further word would change what was read back and confirmed."""
    sat = sitting(
        tmp_path, "drain clamped", "confirm", half("for transfer at nine oh five", JOIN_S + 0.5)
    )
    assert sat.spoken[-1] == "for transfer at nine oh five: not taken; say all of it"
    assert entries(sat) == [("drain clamped", EntryState.CONFIRMED)]


def test_a_time_after_confirm_belongs_to_the_entry_that_follows(tmp_path: Path) -> None:
    """A time, a pause and an entry are one entry, and what was confirmed before stays as it was."""
    sat = sitting(
        tmp_path, "heart rate eighty", "confirm", half("at nine oh five", 1.0), "pressure fourteen"
    )
    assert sat.spoken[-1] == "at zero nine zero five, pressure, one four"
    assert [state for _, state in entries(sat)] == [
        EntryState.CONFIRMED,
        EntryState.UNCONFIRMED,
    ]


@pytest.mark.parametrize(
    "before",
    [
        (),
        ("pressure fourteen", Said("confirm", pause_s=CONFIRMED_S)),
        ("pressure fourteen", "confirm", "total out"),
        ("pressure fourteen at nine oh one", "confirm"),
        ("pressure fourteen heart rate eighty", "confirm"),
        ("confirm",),
        ("pressure fourteen", Said("the weather", pause_s=ANSWER_WITHIN_S), "confirm"),
    ],
)  # fmt: skip
def test_a_time_that_belongs_to_nothing_is_told(
    tmp_path: Path, before: tuple[str | Said, ...]
) -> None:
    """A time alone is never lost in silence: nothing waits for it, or what it may be for was confirmed long ago."""
    sat = sitting(tmp_path, *before, half("at nine oh five"))
    assert sat.spoken[-1] == TIME_LOST
    assert all("at nine oh five" not in entry.heard for entry in sat.leg().entries)


def test_half_a_phrase_is_told_before_something_else_is_taken(tmp_path: Path) -> None:
    """Where another entry or a word of the talk follows, what broke off before it is said to be lost."""
    sat = sitting(tmp_path, half("arterial carbon dioxide", 1.0), "drain clamped")
    assert sat.spoken[3:] == ["arterial carbon dioxide: not taken", "drain clamped"]
    sat = sitting(tmp_path / "b", "pressure fourteen", "confirm", half("at nine", 1.0), "read last")
    assert sat.spoken[5] == TIME_LOST


def test_other_talk_between_the_halves_is_passed_over(tmp_path: Path) -> None:
    """Somebody else's words before the answer do not part a phrase."""
    sat = sitting(
        tmp_path,
        half("arterial carbon dioxide", 4.0),
        Said("the weather", lasts_s=0.5),
        "four point nine",
    )
    assert sat.spoken[3:] == [HOW_MUCH, "blood gas carbon dioxide, four point nine kilopascals"]


@pytest.mark.parametrize("pause_s", [0.7, 4.0])
def test_an_entry_behind_confirm_may_fall_apart(tmp_path: Path, pause_s: float) -> None:
    """Nothing is confirmed before the entry behind it is whole, and then it is as if said in one go."""
    sat = sitting(tmp_path, "pressure fourteen", half("confirm drained", pause_s), "six mils")
    asked = ["confirm drained: how much?", "pressure, one four"] if pause_s > JOIN_S else []
    assert sat.spoken[-3 - len(asked) :] == [
        "pressure, one four",
        *asked,
        KEPT,
        "drained, six mils",
    ]
    assert [state for _, state in entries(sat)] == [EntryState.CONFIRMED, EntryState.UNCONFIRMED]


def test_what_goes_on_behind_confirm_confirms_only_once(tmp_path: Path) -> None:
    """More of the new entry takes its place and leaves it to be confirmed."""
    sat = sitting(
        tmp_path,
        "drained six mils",
        Said("confirm pressure fourteen", pause_s=0.6),
        over("point five"),
    )
    assert sat.spoken[-1] == "correction, pressure, one four point five"
    assert entries(sat) == [
        ("drained six mils", EntryState.CONFIRMED),
        ("confirm pressure fourteen point five", EntryState.UNCONFIRMED),
    ]


def test_a_time_after_the_confirm_of_what_came_behind_one(tmp_path: Path) -> None:
    """It is offered as a correction of that entry, and confirms nothing else."""
    sat = sitting(
        tmp_path,
        "drained six mils",
        "confirm pressure fourteen",
        "confirm",
        half("at nine oh five"),
    )
    assert sat.spoken[-1] == AT_NINE
    assert [state for _, state in entries(sat)] == [EntryState.CONFIRMED, EntryState.UNCONFIRMED]


def test_no_confirm_comes_of_what_was_not_understood(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An entry confirms nothing, though with the sound before it it is heard as a "confirm" and that entry."""

    def together(
        ears: ScriptedEars, first: Segment, rest: Segment, listening: Listening
    ) -> tuple[Segment, Hearing, Decision]:
        return joined(first, rest), *ears._read("confirm drained six mils", listening)

    monkeypatch.setattr(ScriptedEars, "together", together)
    mumbled = Said(MUMBLED, at_s=11.0, pause_s=0.6)  # too late to belong to the pressure
    sat = sitting(tmp_path, "pressure fourteen", mumbled, "drained six mils")
    assert {state for _, state in entries(sat)} == {EntryState.UNCONFIRMED}


def test_a_second_thought_that_breaks_off_is_told(tmp_path: Path) -> None:
    """Neither what was taken back nor a half of what was meant is kept."""
    sat = sitting(tmp_path, half("pressure fourteen no wait sixteen"))
    assert sat.spoken[-1] == "pressure fourteen no wait sixteen: not taken; say all of it"
    assert entries(sat) == []


def test_two_entries_with_a_pause_stay_two(tmp_path: Path) -> None:
    """What is whole is not joined with the next whole entry."""
    sat = sitting(tmp_path, "heart rate eighty eight", "pressure fourteen")
    assert [heard for heard, _ in entries(sat)] == ["heart rate eighty eight", "pressure fourteen"]


def test_the_name_of_another_entry_is_no_part_of_a_whole_one(tmp_path: Path) -> None:
    """Where a further entry breaks off while one waits, its value comes to it, and the first stays as it was kept."""
    sat = sitting(
        tmp_path, "pressure fourteen", half("arterial carbon dioxide", 4.0), "four point nine"
    )
    assert sat.spoken[3:] == [
        "pressure, one four",
        HOW_MUCH,
        "pressure, one four",
        "pressure, one four: unconfirmed. blood gas carbon dioxide, four point nine kilopascals",
    ]
    assert [heard for heard, _ in entries(sat)] == [
        "pressure fourteen",
        "arterial carbon dioxide four point nine",
    ]


def test_the_journal_keeps_what_was_heard_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both hearings stand in the journal, and the sound of the entry holds both halves."""
    append, rows = Part.append, list[str]()

    def note(part: Part, row: Row) -> None:
        rows.append(row.text)
        append(part, row)

    monkeypatch.setattr(Part, "append", note)
    sat = sitting(tmp_path, half("arterial carbon dioxide", 1.0), "four point nine")
    heard = [one for one in sat.progress if isinstance(one, SegmentHeard)]
    assert [one.decision.outcome for one in heard[1:]] == ["not_understood", "accept"]
    events = [event for event in map(from_text, rows) if isinstance(event, Heard)]
    first, whole = events[-2:]
    assert first.decision == NotUnderstood(doubt=Doubt.UNFINISHED)
    assert first.alternatives[0].text == "arterial carbon dioxide"
    assert isinstance(whole.decision, Accept)
    assert whole.start_at == first.start_at
    assert whole.end_at > first.end_at
    assert whole.clip is not None
    assert soundfile.info(sat.keeper.folder / "clips" / whole.clip.name).duration > 2.2


def test_a_recogniser_that_fails_leaves_each_half_alone(tmp_path: Path) -> None:
    """Where the two cannot be heard together, what came first is told to be lost, and the leg goes on."""
    sat = sitting(tmp_path, half("arterial carbon dioxide", 1.0), "crash", "pressure fourteen")
    assert "arterial carbon dioxide: not taken" in sat.spoken
    assert [heard for heard, _ in entries(sat)] == ["pressure fourteen"]


def test_before_a_leg_half_a_phrase_is_answered_at_once(tmp_path: Path) -> None:
    """Without a leg nothing is waited for: a tone tells that it was not understood."""
    sat = Sitting(tmp_path, says(half("arterial carbon dioxide"))).run()
    assert sat.spoken == [f"({Tone.HEARD})", LOW]
