from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.record.conftest import at, heard, kept
from voice.entries.leg import EntryState, LegSettings
from voice.entries.reminder import ReminderKey, ReminderTurn
from voice.meaning.decision import Doubt, NotForUs, NotUnderstood
from voice.record.errors import EventRefusedError
from voice.record.events import (
    Confirmed,
    Continued,
    Event,
    Kept,
    LegEnded,
    LegStarted,
    Noticed,
    Reminded,
    Sealed,
    Together,
    Withdrawn,
    from_text,
    to_text,
)
from voice.record.replay import Replay, replay

STARTED = LegStarted(
    at=at(0),
    leg_id="a",
    settings=LegSettings(utc_offset_min=120),
    grammar_digest="g",
    model_digest="m",
    program_version="0",
)


def states(*events: Event) -> list[EntryState]:
    """The states of the entries after these events."""
    return [entry.state for entry in replay([STARTED, *events]).entries]


def confirmed(number: int) -> Confirmed:
    """A confirmation."""
    return Confirmed(at=at(9), number=number)


def withdrawn(number: int) -> Withdrawn:
    """A withdrawal."""
    return Withdrawn(at=at(9), number=number, why="scratch that")


def test_an_entry_is_unconfirmed_until_confirmed() -> None:
    """An entry counts as confirmed only after a confirmation of its own number."""
    assert states(kept(1), kept(2), confirmed(2)) == ["unconfirmed", "confirmed"]


def test_what_became_of_reminders_is_known_again() -> None:
    """What was said, acknowledged and postponed is told in that order, also after being read again."""
    key = ReminderKey(rule="dose due", since=at(2), about="cefazolin")
    events: list[Event] = [
        Reminded(at=at(482), key=key, became="said", text="cefazolin 8 hours ago"),
        Reminded(at=at(483), key=key, became="postponed", text="later", until=at(493)),
        Reminded(at=at(494), key=key, became="acknowledged", text="reminder noted"),
    ]
    assert replay([STARTED, *map(from_text, map(to_text, events))]).reminders == (
        ReminderTurn(key=key, at=at(482), became="said"),
        ReminderTurn(key=key, at=at(483), became="postponed", until=at(493)),
        ReminderTurn(key=key, at=at(494), became="acknowledged"),
    )


def test_asking_in_between_changes_nothing() -> None:
    """After each event the leg is as if nobody had asked before, and the same object until the next."""
    story = Replay()
    told: list[Event] = [STARTED, kept(1), heard(), confirmed(1), kept(2), withdrawn(2)]
    for count, event in enumerate(told, 1):
        story.add(event)
        assert story.leg() == replay(told[:count])
        assert story.leg() is story.leg()


def test_what_belongs_together_is_taken_together() -> None:
    """Entries of one breath are kept, confirmed and withdrawn by one event each."""
    breath = Together(at=at(1), parts=(kept(1), kept(2, 18)))
    assert states(breath) == ["unconfirmed", "unconfirmed"]
    both = Together(at=at(2), parts=(confirmed(1), confirmed(2)))
    assert states(breath, both) == ["confirmed", "confirmed"]
    gone = Together(at=at(2), parts=(withdrawn(1), withdrawn(2)))
    assert states(breath, gone) == ["withdrawn", "withdrawn"]
    assert from_text(to_text(breath)) == breath


@pytest.mark.parametrize(
    "parts",
    [
        (kept(2), kept(1)),
        (kept(1), kept(1)),
        (kept(3), kept(4, replaces=3)),
        (kept(1), confirmed(2)),
        (confirmed(1), withdrawn(1)),
    ],
)
def test_where_one_part_does_not_fit_none_is_taken(
    parts: tuple[Kept | Confirmed | Withdrawn, ...],
) -> None:
    """Of what belongs together nothing is taken where one part contradicts the leg or another."""
    story = Replay()
    story.add(STARTED)
    before = story.leg()
    with pytest.raises(EventRefusedError):
        story.add(Together(at=at(1), parts=parts))
    assert story.leg() == before


def test_a_correction_points_both_ways() -> None:
    """A corrected entry stays, out of the count, and each of the two names the other."""
    leg = replay([STARTED, kept(1), confirmed(1), kept(2, 18, replaces=1)])
    assert [(e.state, e.replaces, e.replaced_by) for e in leg.entries] == [
        ("corrected", None, 2),
        ("unconfirmed", 1, None),
    ]
    assert [e.number for e in leg.counting()] == [2]


def test_a_withdrawn_correction_corrects_nothing() -> None:
    """When a correction is taken away, what it corrected stands again as it stood."""
    assert states(kept(1), confirmed(1), kept(2, replaces=1), withdrawn(2)) == [
        "confirmed",
        "withdrawn",
    ]


def test_a_confirmed_entry_can_be_withdrawn() -> None:
    """Withdrawing takes away a confirmed entry too."""
    assert states(kept(1), confirmed(1), withdrawn(1)) == ["withdrawn"]


@pytest.mark.parametrize(
    "events",
    [
        [kept(1), kept(1)],
        [kept(2), kept(1)],
        [confirmed(1)],
        [kept(1, replaces=1)],
        [kept(1), withdrawn(1), withdrawn(1)],
        [kept(1), withdrawn(1), confirmed(1)],
        [kept(1), kept(2, replaces=1), kept(3, replaces=1)],
        [LegEnded(at=at(1)), LegEnded(at=at(2))],
        [Sealed(at=at(1), head="0" * 64), kept(1)],
        [STARTED],
    ],
)
def test_contradictions_are_refused(events: list[Event]) -> None:
    """An event that contradicts the leg is refused and leaves it as it was."""
    story = Replay()
    story.add(STARTED)
    for event in events[:-1]:
        story.add(event)
    before = story.leg()
    with pytest.raises(EventRefusedError):
        story.add(events[-1])
    assert story.leg() == before


def test_nothing_comes_before_the_start() -> None:
    """A leg begins with its start and no replay is had without one."""
    with pytest.raises(EventRefusedError, match="not been started"):
        replay([kept(1)])
    with pytest.raises(EventRefusedError, match="not been started"):
        replay([])


def test_the_frame_of_the_leg() -> None:
    """Times, settings, notices and the count of what was not understood come from the events."""
    doubt = heard().model_copy(update={"decision": NotUnderstood(doubt=Doubt.CUT)})
    other = heard().model_copy(update={"decision": NotForUs()})
    leg = replay(
        [
            STARTED,
            doubt,
            other,
            other,
            heard(),
            Noticed(at=at(2), text="The microphone was lost."),
            Continued(at=at(3), why="The disk is full."),
            LegEnded(at=at(40)),
        ]
    )
    assert (leg.not_understood, leg.passed_over) == (1, 2)
    assert [(n.at, n.text) for n in leg.notices] == [
        (at(2), "The microphone was lost."),
        (at(3), "The disk is full."),
    ]
    assert (leg.started_at, leg.ended_at, leg.settings.utc_offset_min) == (at(0), at(40), 120)


numbers = st.integers(1, 6)
random_events = st.lists(
    st.one_of(
        st.builds(kept, numbers, st.integers(-10, 100), replaces=st.none() | numbers),
        st.builds(confirmed, numbers),
        st.builds(withdrawn, numbers),
        st.just(heard()),
    ),
    max_size=25,
)


@given(random_events)
def test_replay_is_the_same_every_time(events: list[Event]) -> None:
    """The events that were taken, written out and read back, give the same leg."""
    story = Replay()
    taken: list[Event] = []
    for event in [STARTED, *events]:
        try:
            story.add(event)
        except EventRefusedError:
            continue
        taken.append(event)
    again = [from_text(to_text(event)) for event in taken]
    assert again == taken
    assert replay(again) == story.leg() == replay(taken)


@given(random_events)
def test_every_entry_stays(events: list[Event]) -> None:
    """No event takes an entry out of the leg, and corrected ones have a standing successor."""
    story = Replay()
    story.add(STARTED)
    seen: set[int] = set()
    for event in events:
        try:
            story.add(event)
        except EventRefusedError:
            continue
        entries = {entry.number: entry for entry in story.leg().entries}
        assert seen <= entries.keys()
        seen |= entries.keys()
        for entry in entries.values():
            assert (entry.state == "corrected") == (
                entry.replaced_by is not None and entry.state != "withdrawn"
            )
            if entry.replaced_by is not None:
                assert entries[entry.replaced_by].replaces == entry.number
                assert entries[entry.replaced_by].state != "withdrawn"
