from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

import pytest
from pydantic import ValidationError

from tests.record.conftest import at, fill, heard, kept
from voice.entries.kinds.drain import Pressure
from voice.entries.leg import EntryState, Leg, LegSettings
from voice.entries.review import Reviewer
from voice.record.desk_events import (
    Commented,
    DeskApproved,
    DeskEnded,
    DeskEntry,
    DeskEvent,
    DeskWithdrawn,
    ListenedTo,
    SignedOff,
    WrittenDown,
)
from voice.record.errors import EventRefusedError
from voice.record.events import Confirmed, Event, LegEnded, LegStarted, Noticed, from_text, to_text
from voice.record.replay import Replay, replay
from voice.record.shelf import load, verify

if TYPE_CHECKING:
    from pathlib import Path

    from voice.record.journal import Journal

BY = Reviewer(name="R. Sand", role="charge nurse")
STARTED = LegStarted(
    at=at(0),
    leg_id="a",
    settings=LegSettings(),
    grammar_digest="g",
    model_digest="m",
    program_version="0",
)


def put_down(
    number: int,
    value: float = 40,
    *,
    replaces: int | None = None,
    how: Literal["alternative", "typed", "time"] = "typed",
) -> DeskEntry:
    """An entry of the desk."""
    return DeskEntry(
        at=at(90),
        by=BY,
        number=number,
        entry=Pressure(value=value, unit="mmHg"),
        heard="pressure forty",
        spoken_at=at(1),
        happened_at=at(1),
        replaces=replaces,
        how=how,
        why="misheard",
    )


def approved(number: int) -> DeskApproved:
    """An entry that was found right."""
    return DeskApproved(at=at(90), by=BY, number=number, why="heard so")


def withdrawn(number: int) -> DeskWithdrawn:
    """An entry that was taken away at the desk."""
    return DeskWithdrawn(at=at(91), by=BY, number=number, why="did not happen")


def signed() -> SignedOff:
    """A sign-off."""
    return SignedOff(at=at(95), by=BY, sounds=3, listened_to=2)


def leg(*events: Event) -> Leg:
    """The leg of these events."""
    return replay([STARTED, *events])


def states(*events: Event) -> list[EntryState]:
    """The states of the entries after these events."""
    return [entry.state for entry in leg(*events).entries]


def test_a_correction_at_the_desk_keeps_the_first_record() -> None:
    """What the desk puts in place of an entry counts, tells who and why, and leads back to it."""
    first, second = leg(kept(1, 14), put_down(2, 40, replaces=1)).entries
    assert (first.state, first.replaced_by) == (EntryState.CORRECTED, 2)
    assert first.entry == Pressure(value=14, unit="mmHg")
    assert (second.state, second.replaces, second.counts) == (EntryState.REVIEWED, 1, True)
    assert second.desk is not None
    assert (second.desk.act, second.desk.by, second.desk.why) == ("corrected", BY, "misheard")
    assert not second.was_confirmed


def test_what_was_missed_is_added() -> None:
    """An entry of the desk that corrects none stands beside the others, as added there."""
    added = leg(kept(1), put_down(2)).entries[1]
    assert added.state is EntryState.REVIEWED
    assert added.desk is not None
    assert added.desk.act == "added"


def test_an_approved_entry_is_reviewed_and_still_tells_that_it_was_confirmed() -> None:
    """The desk's approval does not hide whether the nurse confirmed aloud."""
    one, two = leg(
        kept(1), kept(2), Confirmed(at=at(2), number=1), approved(1), approved(2)
    ).entries
    assert {one.state, two.state} == {EntryState.REVIEWED}
    assert (one.was_confirmed, two.was_confirmed) == (True, False)
    assert one.confirmed
    assert two.confirmed


def test_a_withdrawn_correction_lets_the_first_stand_again() -> None:
    """Taking a correction of the desk away undoes it, and both stay on record."""
    assert states(kept(1), put_down(2, replaces=1), withdrawn(2)) == ["unconfirmed", "withdrawn"]


def test_remarks_change_no_entry() -> None:
    """Comments and what a note says stand beside the entries, in order."""
    remarks: list[Event] = [
        Commented(at=at(92), by=BY, number=1, text="monitor was off"),
        Commented(at=at(93), by=BY, number=1, text="on again at ten past"),
        Commented(at=at(94), by=BY, text="a rough flight"),
        WrittenDown(at=at(94), by=BY, number=1, text="first"),
        WrittenDown(at=at(95), by=BY, number=1, text="second\nline"),
    ]
    told = leg(kept(1), *remarks)
    (entry,) = told.entries
    assert [c.text for c in entry.comments] == ["monitor was off", "on again at ten past"]
    assert [c.text for c in told.comments] == ["a rough flight"]
    assert entry.written_down == "second\nline"
    assert entry.state is EntryState.UNCONFIRMED


@pytest.mark.parametrize(
    ("after", "stands"),
    [
        ([], True),
        ([ListenedTo(at=at(96), by=BY, clip="0001.flac")], True),
        ([approved(1)], False),
        ([kept(2)], False),
        ([Commented(at=at(96), by=BY, text="late")], False),
        ([approved(1), signed()], True),
    ],
)
def test_a_sign_off_stands_until_something_is_changed(after: list[Event], stands: bool) -> None:
    """Whatever comes after a sign-off, but for listening, needs a new one; the old one stays told."""
    told = leg(kept(1), signed(), *after)
    assert (told.signed is not None) == stands
    assert told.sign_offs[0].by == BY


@pytest.mark.parametrize(
    ("event", "refused"),
    [
        (approved(7), "no entry 7"),
        (put_down(3, replaces=7), "no entry 7"),
        (put_down(1), "there already"),
        (put_down(3, replaces=1), "Entry 1 no longer counts"),
        (withdrawn(1), "Entry 1 no longer counts"),
        (Commented(at=at(1), by=BY, number=7, text="x"), "no entry 7"),
        (WrittenDown(at=at(1), by=BY, number=7, text="x"), "no entry 7"),
    ],
)
def test_an_act_that_does_not_fit_is_refused(event: DeskEvent, refused: str) -> None:
    """An act on an entry that is not there, or no longer counts, is not taken."""
    with pytest.raises(EventRefusedError, match=refused):
        leg(kept(1), put_down(2, replaces=1), event)


ACTS: list[DeskEvent] = [
    approved(1),
    put_down(4, replaces=2),
    put_down(5),
    withdrawn(3),
    Commented(at=at(92), by=BY, number=1, text="<script>alert(1)</script>"),
    WrittenDown(at=at(92), by=BY, number=1, text="said so"),
    DeskEnded(at=at(93), by=BY, ended_at=at(50), why="nobody said so"),
    ListenedTo(at=at(93), by=BY, clip="0001.flac"),
    signed(),
]


@pytest.mark.parametrize("act", ACTS, ids=lambda act: act.event)
def test_an_act_is_read_back_as_it_was_written(act: DeskEvent) -> None:
    """Every act of the desk comes back from its text unchanged."""
    assert from_text(to_text(act)) == act


def test_acts_stand_in_the_chain(journal: Journal, folder: Path) -> None:
    """After the desk the journal verifies, and another reader sees the leg with its corrections."""
    fill(journal)
    for act in ACTS:
        journal.append(act)
    assert verify(folder).intact
    assert load(folder) == journal.leg()
    assert load(folder).signed is not None


@pytest.mark.parametrize(
    "fields",
    [
        {"name": "", "role": "nurse"},
        {"name": " ", "role": "nurse"},
        {"name": "R. Sand\n", "role": "a\nb"},
        {"name": "R. \u202edna S", "role": "nurse"},
        {"name": "\ud800", "role": "nurse"},
        {"name": "x" * 121, "role": "nurse"},
    ],
)
def test_a_name_is_one_line_that_can_be_read(fields: dict[str, Any]) -> None:
    """Nobody signs with nothing, with several lines, or with signs that turn the writing round."""
    with pytest.raises(ValidationError):
        Reviewer.model_validate(fields)


def test_a_leg_that_is_asked_for_in_between_is_the_same() -> None:
    """However often the leg is looked at while events come, it is the one that all of them tell."""
    events: list[Event] = [
        STARTED,
        kept(1),
        kept(2),
        Confirmed(at=at(2), number=2),
        kept(3, replaces=1),
        kept(4),
        put_down(5, replaces=3),
        withdrawn(5),
        approved(3),
        *ACTS[4:],
    ]
    story = Replay()
    for length, event in enumerate(events, start=1):
        story.add(event)
        assert story.leg() == replay(events[:length])


def test_the_desk_does_not_fly_the_leg_on(journal: Journal) -> None:
    """A leg is known of until it was last heard or kept, however long after the desk works on it."""
    fill(journal, 2)
    assert journal.leg().flown_until == at(2)
    journal.append(Noticed(at=at(3), text="The microphone was lost."))
    journal.append(DeskApproved(at=at(5000), by=BY, number=1, why="heard"))
    journal.append(ListenedTo(at=at(5001), by=BY, clip="0001.flac"))
    assert journal.leg().flown_until == journal.leg().known_until == at(3)
    journal.append(heard())
    assert journal.leg().flown_until == at(1)


def test_what_a_reviewer_knows_is_known_of_the_leg(journal: Journal) -> None:
    """Something that happened after the program broke off, told at the desk, counts; withdrawn it does not."""
    fill(journal, 2)
    later = put_down(3).model_copy(update={"at": at(5000), "happened_at": at(30)})
    journal.append(later)
    assert journal.leg().known_until == at(30)
    journal.append(DeskWithdrawn(at=at(5001), by=BY, number=3, why="another patient"))
    assert journal.leg().known_until == at(2)
    journal.append(LegEnded(at=at(40)))
    assert journal.leg().known_until == at(40)


@pytest.mark.parametrize("minute", [-1, 94])
def test_an_end_outside_of_the_leg_does_not_fit(minute: float) -> None:
    """Whatever writes it, no leg ends before it began or after that was told."""
    end = DeskEnded(at=at(93), by=BY, ended_at=at(minute), why="nobody said so")
    with pytest.raises(EventRefusedError, match="does not end before"):
        leg(end)
