from __future__ import annotations

import random
from typing import TYPE_CHECKING, Any

import pytest

from tests.review.conftest import MOSS, SAND, reading
from tests.review.flight import Flight, at, desk_leg
from voice.entries.errors import LegbookError
from voice.entries.kinds.drain import Pressure
from voice.entries.leg import EntryState
from voice.meaning.decision import AskBetween, NotForUs
from voice.meaning.grammar import load_grammar
from voice.record.desk_events import DeskEnded
from voice.record.errors import JournalError
from voice.record.events import Heard, Kept
from voice.record.journal import Journal
from voice.record.retention import Policy, drop_sound
from voice.record.shelf import load, verify
from voice.review.acts import ACT
from voice.review.desk import ClipError, ClosedError, ConflictError, Desk
from voice.review.ending import EndError
from voice.review.typed import TypedError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from voice.entries.leg import LegEntry
    from voice.entries.review import Reviewer
    from voice.review.acts import Done


def do(desk: Desk, name: str, *, by: Reviewer = SAND, head: int | None = None, **told: Any) -> Done:
    """One act, decided on what the desk shows now."""
    head = desk.head if head is None else head
    return desk.do(ACT.validate_python({"act": name, "head": head, **told}), by)


def entry(folder: Path, number: int) -> LegEntry:
    """An entry as another reader of the journal finds it."""
    return load(folder).entries[number - 1]


def state(folder: Path, number: int) -> EntryState:
    """Its state there."""
    return entry(folder, number).state


def pressure(value: float) -> Pressure:
    """An intracranial pressure."""
    return Pressure(value=value, unit="mmHg")


def test_an_alternative_takes_the_place_of_the_entry(desk: Desk, folder: Path) -> None:
    """What else was heard becomes the entry, at the same time and with the same sound."""
    done = do(desk, "alternative", **reading(desk, 1, 1))
    assert done.said == "Entry 1 is now entry 9: ICP 40 mmHg at 23:31."
    assert {row.number for row in done.rows} >= {1, 9}
    now = entry(folder, 9)
    assert now.entry == pressure(40)
    assert (now.replaces, now.happened_at, now.clip) == (1, at(1), "0001.flac")
    assert now.desk is not None
    assert (now.desk.by, now.desk.why) == (SAND, "misheard")
    assert state(folder, 1) is EntryState.CORRECTED
    assert verify(folder).intact


def test_an_alternative_of_a_breath_is_about_its_own_entry(desk: Desk, folder: Path) -> None:
    """Of several entries in one breath only the one that was chosen is corrected."""
    do(desk, "alternative", **reading(desk, 6, 1))
    assert entry(folder, 9).entry == pressure(60)
    assert state(folder, 5) is EntryState.CONFIRMED


def test_a_time_before_the_leg_is_told_with_its_day(desk: Desk) -> None:
    """What is moved to before the leg, perhaps by a slip of the keys, is told as that."""
    done = do(desk, "time", number=1, time="20:15")
    assert done.said.endswith("at 20:15, before the leg began.")
    done = do(desk, "time", number=9, time="23:32")
    assert done.said.endswith("at 23:32.")


@pytest.mark.parametrize("text", ["19", "pressure 19", "ICP 19 mmHg", "pressure nineteen"])
def test_a_typed_value_is_parsed_as_speech_is(desk: Desk, folder: Path, text: str) -> None:
    """However it is typed, the value goes through the grammar."""
    do(desk, "type", number=3, text=text, why="said wrongly")
    assert entry(folder, 9).entry == pressure(19)
    assert state(folder, 9) is EntryState.REVIEWED


def test_a_time_may_be_typed_with_the_value(desk: Desk, folder: Path) -> None:
    """What is typed about the time counts from when the entry was said, or by the leg's clock."""
    do(desk, "type", number=3, text="pressure 19 at 23:31")
    do(desk, "type", number=6, text="pressure 20 five minutes ago")
    assert [entry(folder, number).happened_at for number in (9, 10)] == [at(1), at(0)]


@pytest.mark.parametrize("text", ["190", "pressure 190", "pressure", "19 20", "1,9", "confirm", ""])
def test_what_cannot_be_said_cannot_be_typed(desk: Desk, text: str) -> None:
    """A value out of range, half a phrase, or a word to the program is refused; nothing is written."""
    head = desk.head
    with pytest.raises(TypedError):
        do(desk, "type", number=3, text=text)
    assert desk.head == head


def test_nothing_is_corrected_into_itself(desk: Desk) -> None:
    """What stands already is approved, not typed again."""
    with pytest.raises(TypedError, match="approve it"):
        do(desk, "type", number=1, text="14")
    with pytest.raises(TypedError, match="approve it"):
        do(desk, "alternative", **reading(desk, 1, 0))


@pytest.mark.parametrize(
    ("time", "minutes"), [("23:40", 10), ("23:40:30", 10.5), ("23:20", -10), ("0:05", 35)]
)
def test_a_time_of_day_is_the_nearest(tmp_path: Path, time: str, minutes: float) -> None:
    """A time that is typed is by the leg's clock, on the right side of midnight."""
    folder = desk_leg(tmp_path / "over", until=60)
    desk = Desk(folder, load_grammar(), lambda: at(999))
    do(desk, "time", number=1, time=time)
    desk.close()
    now = entry(folder, 9)
    assert (now.happened_at, now.entry, now.heard) == (
        at(minutes),
        pressure(14),
        "pressure fourteen",
    )
    assert now.spoken_at == at(1)


@pytest.mark.parametrize(
    "time", ["10:45", "23:59", "25:00", "soon", "2026-05-01T09:00", "2026-05-01T23:31", "99:99:99"]
)
def test_a_time_that_cannot_be_is_refused(desk: Desk, time: str) -> None:
    """Nothing happened after the leg, or half a day before it, or when it stands already."""
    with pytest.raises(TypedError):
        do(desk, "time", number=1, time=time)


def test_a_missed_entry_is_added_from_its_sound(desk: Desk, folder: Path) -> None:
    """It happened when the sound was, and the gap tells which entry came of it."""
    gap = next(gap for gap in desk.view().gaps if gap.outcome == "not_understood")
    done = do(desk, "add", text="drained 60 ml", clip=gap.clip)
    assert done.said.startswith("Entry 9 added: Drained 60 mL at 23:39")
    assert (done.gaps[0].id, done.gaps[0].became, done.gaps[0].need) == (gap.id, (9,), 0)
    added = entry(folder, 9)
    assert (added.clip, added.happened_at, added.replaces) == (gap.clip, gap.start_at, None)


def test_a_missed_entry_without_sound_needs_its_time(desk: Desk, folder: Path) -> None:
    """What was told after the leg is added at the time that is typed, alone or with the entry."""
    for text in ("pressure 12", "pressure 12 five minutes ago"):
        with pytest.raises(TypedError, match="Say when"):
            do(desk, "add", text=text)
    do(desk, "add", text="pressure 12", time="23:35")
    do(desk, "add", text="pressure 13 at 23:36")
    assert [entry(folder, n).happened_at for n in (9, 10)] == [at(5), at(6)]
    assert entry(folder, 9).clip is None


def test_days_later_a_time_of_a_leg_without_an_end_is_still_of_its_day(tmp_path: Path) -> None:
    """What was broken off ended soon after it was last heard, not when somebody looks at it."""
    flight = Flight(tmp_path)
    flight.say("pressure fourteen")
    flight.journal.close()
    desk = Desk(flight.folder, load_grammar(), lambda: at(3 * 24 * 60))
    do(desk, "add", text="pressure 12", time="23:45")
    desk.close()
    assert entry(flight.folder, 2).happened_at == at(15)
    assert not desk.is_flown


def test_who_signs_off_a_leg_without_an_end_learns_how_to_end_it(
    desk: Desk, tmp_path: Path
) -> None:
    """Such a leg cannot be sealed, and an end that is told later takes the sign-off with it: so it is told at once."""
    assert "Nobody told" not in do(desk, "sign_off").said
    flight = Flight(tmp_path / "other")
    flight.say("pressure fourteen")
    flight.journal.close()
    other = Desk(flight.folder, load_grammar(), lambda: at(3 * 24 * 60))
    assert "Nobody told when the leg was over: tell it under" in do(other, "sign_off").said
    other.close()


def test_nothing_happens_after_the_end_that_was_told(tmp_path: Path) -> None:
    """Where the desk told when a leg was over, a sound of later, or an entry that would stand again, is refused first."""
    flight = Flight(tmp_path)
    flight.say("pressure fourteen")
    flight.pass_over()
    flight.say("pressure fifteen")
    flight.journal.close()
    desk = Desk(flight.folder, load_grammar(), lambda: at(3 * 24 * 60))
    do(desk, "time", number=2, time="23:32")
    with Journal.open(flight.folder, at(3 * 24 * 60)) as journal:
        journal.append(DeskEnded(at=at(3 * 24 * 60), by=MOSS, ended_at=at(2), why="it was"))
    late = desk.view().gaps[-1]
    assert late.start_at > at(2)
    for name, told in (
        ("add", {"text": "drained 60 ml", "clip": late.clip}),
        ("withdraw", {"number": 3}),
    ):
        with pytest.raises(
            LegbookError, match=r"A. Moss, physician, told.*23:32.*under “End of the leg”"
        ):
            do(desk, name, **told)
    desk.close()
    assert len(load(flight.folder).entries) == 3


def test_more_than_one_entry_is_not_typed_at_once(desk: Desk) -> None:
    """One act is one entry, so that each has its own reason."""
    with pytest.raises(TypedError, match="one after the other"):
        do(desk, "add", text="heart rate 88 pressure 14", time="23:35")


def test_an_entry_is_approved(desk: Desk, folder: Path) -> None:
    """An unconfirmed entry that is right is reviewed, and needs no look any more."""
    done = do(desk, "approve", number=3)
    assert state(folder, 3) is EntryState.REVIEWED
    assert (done.rows[0].number, done.rows[0].need) == (3, 0)


def test_a_withdrawn_correction_lets_the_first_stand(desk: Desk, folder: Path) -> None:
    """Withdrawing at the desk undoes a correction, and says so."""
    do(desk, "type", number=1, text="15")
    done = do(desk, "withdraw", number=9, why="did not happen")
    assert done.said.endswith("Entry 1, ICP 14 mmHg, stands again.")
    assert [state(folder, n) for n in (1, 9)] == ["confirmed", "withdrawn"]


def test_remarks_and_notes_are_kept(desk: Desk, folder: Path) -> None:
    """Comments on an entry and on the leg, and what a note says, are in the leg."""
    do(desk, "comment", number=1, text="monitor off")
    do(desk, "comment", text="a rough flight")
    do(desk, "write_down", number=4, text="pupil looked sluggish")
    leg = load(folder)
    assert [one.text for one in leg.entries[0].comments] == ["monitor off"]
    assert [one.text for one in leg.comments] == ["a rough flight"]
    assert leg.entries[3].written_down == "pupil looked sluggish"
    with pytest.raises(LegbookError, match="no spoken note"):
        do(desk, "write_down", number=1, text="x")


def test_listening_is_counted_once(desk: Desk) -> None:
    """A sound that was played twice is one that was listened to, and one event."""
    before = desk.view().counter
    assert before.listened == 0
    done = do(desk, "listened", clip="0001.flac")
    again = do(desk, "listened", clip="0001.flac")
    assert (done.counter.listened, again.counter.listened) == (1, 1)
    assert again.head == done.head
    assert done.rows[0].listened


def test_a_sign_off_tells_how_much_was_listened_to(desk: Desk, folder: Path) -> None:
    """The signature bears the counter, and stands until the next act."""
    do(desk, "listened", clip="0001.flac")
    done = do(desk, "sign_off", may_teach=True)
    assert done.sign_off is not None
    assert (done.sign_off.listened_to, done.sign_off.sounds) == (1, done.counter.of)
    assert done.said.endswith("1 entry never confirmed.")
    assert load(folder).signed is not None
    assert do(desk, "approve", number=3).sign_off is None


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("approve", {"number": 99}),
        ("alternative", {"number": 1, "text": "pressure ninety", "becomes": "ICP 90 mmHg"}),
        ("alternative", {"number": 1, "text": "[unk]", "becomes": ""}),
        ("alternative", {"number": 4, "text": "pressure forty", "becomes": "ICP 40 mmHg"}),
        ("comment", {"number": 99, "text": "x"}),
        ("add", {"text": "pressure 14", "clip": "9999.flac"}),
        ("listened", {"clip": "../journal.sqlite"}),
    ],
)
def test_what_is_not_there_cannot_be_done(desk: Desk, name: str, told: dict[str, Any]) -> None:
    """An act on what the leg does not hold is refused in a sentence, and nothing is written."""
    head = desk.head
    with pytest.raises(LegbookError):
        do(desk, name, **told)
    assert desk.head == head


def test_the_first_record_stays_within_reach(desk: Desk) -> None:
    """The whole chain of corrections is told from any of its entries, and the leg as it was flown."""
    flown = desk.leg
    do(desk, "type", number=1, text="15")
    do(desk, "type", number=9, text="16")
    for number in (1, 9, 10):
        assert [row.number for row in desk.history(number)] == [1, 9, 10]
    assert desk.flown() == flown


def test_two_desks_lose_nothing(open_desk: Callable[[], Desk], folder: Path) -> None:
    """Two programs at one leg take turns; each sees what the other wrote, and all of it is kept."""
    one, other = open_desk(), open_desk()
    head = other.head
    do(one, "type", number=1, text="15")
    do(other, "approve", number=3, by=MOSS, head=head)
    do(one, "comment", number=3, text="so it is")
    assert [row.state for row in other.view().rows[:3]] == ["corrected", "confirmed", "reviewed"]
    assert load(folder) == one.leg == other.leg
    assert verify(folder).intact


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("type", {"number": 1, "text": "16"}),
        ("approve", {"number": 1}),
        ("withdraw", {"number": 1}),
        ("time", {"number": 1, "time": "23:35"}),
        ("sign_off", {}),
    ],
)
def test_a_change_that_somebody_else_made_is_not_overrun(
    open_desk: Callable[[], Desk], name: str, told: dict[str, Any]
) -> None:
    """An act on an entry that another changed meanwhile is refused, naming who; nothing is written."""
    one, other = open_desk(), open_desk()
    head = other.head
    do(one, "type", number=1, text="15")
    with pytest.raises(ConflictError, match="Sand, charge nurse"):
        do(other, name, by=MOSS, head=head, **told)
    assert other.head == one.head == head + 1


def test_one_sound_is_not_added_twice(open_desk: Callable[[], Desk]) -> None:
    """Two people who find the same missed entry do not both write it."""
    one, other = open_desk(), open_desk()
    head = one.head
    clip = one.view().gaps[1].clip
    do(one, "add", text="drained 6 ml", clip=clip)
    with pytest.raises(ConflictError):
        do(other, "add", text="drained 6 ml", clip=clip, head=head)


@pytest.mark.parametrize(
    ("name", "told", "shown"),
    [
        ("alternative", {"number": 1, "text": "pressure forty"}, "ICP 40 mmHg"),
        ("type", {"number": 3, "text": "19"}, "ICP 19 mmHg"),
        ("add", {"text": "drained 6 ml", "clip": "0008.flac"}, "Drained 6 mL"),
    ],
)
def test_what_the_page_said_it_becomes_is_what_it_becomes(
    desk: Desk, name: str, told: dict[str, Any], shown: str
) -> None:
    """Where the desk would write another entry than the reviewer read, it writes none and says so."""
    head = desk.head
    with pytest.raises(TypedError, match=rf"would become {shown}, and the page said ICP 41 mmHg"):
        do(desk, name, becomes="ICP 41 mmHg", **told)
    assert desk.head == head
    assert shown in do(desk, name, becomes=shown, **told).said


def test_a_remark_is_about_what_its_writer_saw(open_desk: Callable[[], Desk]) -> None:
    """A comment on an entry that another has changed meanwhile is refused first."""
    one, other = open_desk(), open_desk()
    head = one.head
    do(one, "type", number=1, text="15")
    for number in (1, 9):
        with pytest.raises(ConflictError):
            do(other, "comment", number=number, text="so it was", head=head)
    do(other, "comment", text="a rough flight", head=head)


def test_a_note_that_is_moved_keeps_its_words(desk: Desk, folder: Path) -> None:
    """Another time for a note that was written down takes nothing from what it says."""
    do(desk, "write_down", number=4, text="pupil looked sluggish")
    do(desk, "time", number=4, time="23:33")
    assert entry(folder, 9).written_down == "pupil looked sluggish"
    do(desk, "withdraw", number=9)
    assert entry(folder, 4).written_down == "pupil looked sluggish"


@pytest.fixture
def answered(tmp_path: Path) -> Iterator[tuple[Desk, Callable[[], None]]]:
    """A desk at a leg whose nurse was asked between two readings, and what lets her answer; the leg ends with it."""
    flight = Flight(tmp_path)
    first, second = flight.means("pressure fourteen"), flight.means("pressure forty")
    start_at, clip = flight.hear(
        AskBetween(first=first, second=second), "pressure fourteen", "pressure forty"
    )
    desk = Desk(flight.folder, load_grammar(), lambda: at(99))

    def answer() -> None:
        kept = Kept(
            at=at(2),
            number=1,
            entry=pressure(14),
            heard="pressure fourteen",
            spoken_at=start_at,
            happened_at=start_at,
            clip=clip,
        )
        flight.journal.append(kept)
        flight.end()

    yield desk, answer
    desk.close()


def test_speech_of_which_an_entry_comes_late_is_no_gap_any_more(
    answered: tuple[Desk, Callable[[], None]],
) -> None:
    """A leg that goes on while it is looked at: the page learns which stretches of speech are still without an entry."""
    desk, answer = answered
    (gap,) = desk.view().gaps
    head = desk.head
    answer()
    changes = desk.changes(head)
    assert gap.id not in changes.gap_ids
    assert [row.number for row in changes.rows] == [1]


def test_what_the_nurse_answered_is_not_added_beside_it(
    answered: tuple[Desk, Callable[[], None]],
) -> None:
    """Speech without an entry, of which one came after the reviewer looked, becomes no second one."""
    desk, answer = answered
    (gap,) = desk.view().gaps
    head = desk.head
    answer()
    with pytest.raises(ConflictError, match="changed by voice"):
        do(desk, "add", text="pressure fourteen", clip=gap.clip, head=head)
    assert len(desk.leg.entries) == 1


@pytest.fixture
def broken_off(tmp_path: Path) -> Iterator[Desk]:
    """A desk, days later, at a leg that broke off at 23:32 of its clock."""
    flight = Flight(tmp_path)
    flight.say("pressure fourteen")
    flight.say("pressure fifteen")
    flight.journal.close()
    desk = Desk(flight.folder, load_grammar(), lambda: at(3 * 24 * 60))
    yield desk
    desk.close()


def test_the_end_of_a_leg_that_broke_off_is_told(broken_off: Desk) -> None:
    """Who, when and why stand in the leg; the last that is told counts, and a signature of before stands no more."""
    end = broken_off.view().end
    assert (end.time, end.known, end.desk) == (None, "23:32", None)
    done = do(broken_off, "end", time="23:50")
    assert done.said == "Leg 2026-05-01-2330 ended 01 May 23:50, as R. Sand, charge nurse, tells."
    assert (done.end.time, done.end.known) == ("23:50", "23:32")
    do(broken_off, "sign_off")
    done = do(broken_off, "end", time="23:45", why="told wrongly before", by=MOSS)
    assert done.said.endswith("It has to be signed off again.")
    assert done.end.desk is not None
    assert (done.end.desk.by, done.end.desk.why) == (MOSS, "told wrongly before")
    assert (broken_off.leg.ended_at, broken_off.leg.signed) == (at(15), None)


def test_the_last_minute_is_all_of_it(broken_off: Desk) -> None:
    """The minute of the last that is known is the end with all that was written in it."""
    late = Heard(
        at=at(2.6),
        start_at=at(2.5),
        end_at=at(2.6),
        alternatives=(),
        decision=NotForUs(),
        dialogue_state="listening",
    )
    with Journal.open(broken_off._folder, at(99)) as journal:
        journal.append(late)
    do(broken_off, "end", time="23:32")
    assert broken_off.leg.ended_at == at(2.6)


@pytest.mark.parametrize("time", ["23:31", "23:20", "soon", "", "2026-05-09T10:00"])
def test_an_end_that_cannot_be_is_not_told(broken_off: Desk, time: str) -> None:
    """A leg was not over before something that happened on it, nor is it still to be; nothing is written."""
    head = broken_off.head
    with pytest.raises(LegbookError):
        do(broken_off, "end", time=time)
    assert broken_off.head == head


def test_the_end_that_was_said_counts(desk: Desk) -> None:
    """Of a leg that was ended by voice the desk tells no other end."""
    with pytest.raises(EndError, match='"end leg" was said'):
        do(desk, "end", time="23:50")


def test_two_people_who_tell_the_end_are_told_of_each_other(broken_off: Desk) -> None:
    """The second learns what the first told; and of a leg that went on meanwhile no end is told unseen."""
    head = broken_off.head
    do(broken_off, "approve", number=1)
    do(broken_off, "end", time="23:50", head=head)
    with pytest.raises(ConflictError, match=r"changed by R. Sand.*at 4 May 23:30"):
        do(broken_off, "end", time="23:55", by=MOSS, head=head)


def test_what_another_wrote_down_is_not_overrun(open_desk: Callable[[], Desk]) -> None:
    """Two people who write down one note are told of each other."""
    one, other = open_desk(), open_desk()
    head = one.head
    do(one, "write_down", number=4, text="this")
    with pytest.raises(ConflictError):
        do(other, "write_down", number=4, text="that", head=head)
    do(other, "comment", number=4, text="in nobody's way", head=head)


def test_a_page_from_the_future_is_refused(desk: Desk) -> None:
    """An act that names an event which is not there belongs to another leg."""
    with pytest.raises(ConflictError, match="load it again"):
        do(desk, "approve", number=3, head=desk.head + 1)


def test_a_leg_that_is_recorded_is_only_looked_at(
    desk: Desk, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While a program holds the journal it is shown, and an act is refused in a sentence."""
    monkeypatch.setattr("voice.review.desk._TRIES", 2)
    with Journal.open(folder, at(99)):
        assert len(desk.view().rows) == 8
        with pytest.raises(ClosedError, match="still being recorded"):
            do(desk, "approve", number=3)
    assert do(desk, "approve", number=3).rows


def test_getting_ready_writes_nothing(open_desk: Callable[..., Desk], folder: Path) -> None:
    """A desk that has opened the journal for acts to come has changed nothing, and keeps nobody out."""
    before = {path: path.read_bytes() for path in folder.rglob("*.sqlite")}
    desk = open_desk()
    desk.get_ready()
    open_desk(readonly=True).get_ready()
    assert {path: path.read_bytes() for path in folder.rglob("*.sqlite")} == before
    do(open_desk(), "approve", number=1)
    do(desk, "approve", number=3)
    assert verify(folder).intact


def test_a_desk_does_not_wait_to_get_ready(
    folder: Path, open_desk: Callable[[], Desk], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the leg is still recorded, the desk asks for it once and goes on."""
    desk = open_desk()
    waits: list[float] = []
    monkeypatch.setattr("voice.review.desk.time.sleep", waits.append)
    with Journal.open(folder, at(99)):
        desk.get_ready()
    assert waits == []
    do(desk, "approve", number=1)


def test_read_only_writes_nothing(open_desk: Callable[..., Desk]) -> None:
    """A desk that was opened to look only says so, and takes no act."""
    desk = open_desk(readonly=True)
    assert desk.closed is not None
    with pytest.raises(ClosedError, match="looked at only"):
        do(desk, "approve", number=3)


def test_a_sealed_leg_takes_no_act(folder: Path, open_desk: Callable[[], Desk]) -> None:
    """After the seal the desk shows the leg and says why nothing can be added."""
    with Journal.open(folder, at(99)) as journal:
        journal.seal(at(99))
    with pytest.raises(ClosedError, match="sealed"):
        do(open_desk(), "approve", number=3)


def test_a_damaged_leg_is_shown_and_left_alone(folder: Path, open_desk: Callable[[], Desk]) -> None:
    """Nothing is written after a journal that is not as it was written, and the damage is told."""
    (folder / "head").write_text("\n1 " + "0" * 64)
    desk = open_desk()
    assert desk.damage
    with pytest.raises(ClosedError, match="not as it was written"):
        do(desk, "approve", number=3)


def test_a_failed_disk_loses_no_act(desk: Desk, folder: Path) -> None:
    """Where the journal's file fails, the act goes into a new file and counts once."""
    do(desk, "approve", number=1)
    assert desk._journal is not None
    assert desk._journal._part is not None
    (pages,) = desk._journal._part._db.execute("PRAGMA page_count").fetchone()
    desk._journal._part._db.execute(f"PRAGMA max_page_count = {pages}")
    for n in range(40):
        do(desk, "comment", number=1, text=f"remark {n} " + "x" * 400)
    assert len(entry(folder, 1).comments) == 40
    assert (folder / "journal-2.sqlite").exists()
    assert verify(folder).intact


def test_a_sound_is_as_it_was_kept(desk: Desk, folder: Path) -> None:
    """A sound that is missing, was changed, or was never of this leg is not played."""
    assert desk.clip("0001.flac")[:4] == b"fLaC"
    (folder / "clips" / "0001.flac").write_bytes(b"fLaC other")
    (folder / "clips" / "0002.flac").unlink()
    (folder / "clips" / "0999.flac").write_bytes(b"fLaC")
    for name in ("0001.flac", "0002.flac", "0999.flac", "../head", ""):
        with pytest.raises(ClipError):
            desk.clip(name)


def test_a_sound_that_had_to_go_is_not_asked_for(
    open_desk: Callable[[], Desk], folder: Path
) -> None:
    """What the programme's policy took is no longer counted as left to listen to, unless it was; the policy is told."""
    desk = open_desk()
    done = do(desk, "listened", clip="0001.flac")
    assert (done.counter.listened, done.counter.of) == (1, 9)
    assert drop_sound(folder, Policy(after_days=0), at(99)) == 10
    view = desk.view()
    assert (view.counter.listened, view.counter.of) == (1, 1)
    assert [(row.sound_gone, row.listened) for row in view.rows[:2]] == [
        (True, True),
        (True, False),
    ]
    assert all(gap.sound_gone for gap in view.gaps)
    with pytest.raises(ClipError, match=r"had to go\. By the programme's policy"):
        desk.clip("0002.flac")


def test_there_must_be_a_leg(tmp_path: Path) -> None:
    """A folder without a leg is refused in a sentence."""
    with pytest.raises(JournalError, match="no leg"):
        Desk(tmp_path, load_grammar(), lambda: at(99))


@pytest.mark.parametrize("seed", range(4))
def test_whatever_two_people_do_the_chain_holds(
    open_desk: Callable[[], Desk], folder: Path, seed: int
) -> None:
    """After any acts of two people the journal is whole, both see one leg, and the flight is untouched."""
    rng = random.Random(seed)
    desks = [open_desk(), open_desk()]
    flown = desks[0].leg
    heads = [desk.head for desk in desks]
    done = refused = 0
    for _ in range(40):
        who = rng.randrange(2)
        if rng.random() < 0.3:
            heads[who] = desks[who].head
        acts: list[tuple[str, dict[str, Any]]] = [
            ("approve", {}),
            ("withdraw", {}),
            ("type", {"text": str(rng.randrange(10, 60))}),
            (
                "alternative",
                rng.choice(
                    [
                        {"text": "pressure forty", "becomes": "ICP 40 mmHg"},
                        {
                            "text": "heart rate eighty eight pressure sixty",
                            "becomes": "ICP 60 mmHg",
                        },
                        {"text": "[unk]", "becomes": ""},
                    ]
                ),
            ),
            ("time", {"time": f"23:{rng.randrange(30, 42)}"}),
            ("comment", {"text": "seen"}),
            ("add", {"text": "drained 6 ml", "clip": f"000{rng.randrange(1, 10)}.flac"}),
        ]
        name, told = rng.choice(acts)
        if name != "add":
            told["number"] = rng.randrange(1, 15)
        try:
            do(desks[who], name, by=(SAND, MOSS)[who], head=heads[who], **told)
            done += 1
        except LegbookError:
            refused += 1
    assert done
    assert refused
    assert verify(folder).intact
    assert desks[0].leg == desks[1].leg == load(folder)
    assert desks[0].flown() == desks[1].flown() == flown
    for one in desks:
        shown, read = one.view(), open_desk().view()
        assert shown == read
