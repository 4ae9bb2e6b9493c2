from __future__ import annotations

from datetime import timedelta, timezone
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.figures.conftest import START, at, entries
from voice.entries.kinds.drain import ChamberEmptied, ChamberReading, Drained, Flushed
from voice.entries.leg import EntryState
from voice.figures.output import OutputFigures, hourly, output

if TYPE_CHECKING:
    from random import Random

    from voice.entries.kinds import Entry
    from voice.entries.leg import LegEntry

ZONE = timezone(timedelta(hours=2))
EMPTIED = ChamberEmptied()


def chamber(volume_ml: float) -> ChamberReading:
    """A chamber reading."""
    return ChamberReading(volume_ml=volume_ml)


def drained(volume_ml: float) -> Drained:
    """A drained volume."""
    return Drained(volume_ml=volume_ml)


def flushed(volume_ml: float) -> Flushed:
    """A flush."""
    return Flushed(volume_ml=volume_ml)


def figures(*told: tuple[float, Entry]) -> OutputFigures:
    """The output of a leg that started at 14:00 UTC, 16:00 by its own clock."""
    return output(entries(*told), START, ZONE)


def hours(found: OutputFigures) -> dict[str, float]:
    """Output by the start of the hour."""
    return {hour.strftime("%H:%M"): round(volume, 6) for hour, volume in found.by_hour}


def test_the_chamber_is_cumulative() -> None:
    """Readings of 10, 14 and 22 mL are 12 mL from the first on, not 46."""
    found = figures((0, chamber(10)), (20, chamber(14)), (40, chamber(22)))
    assert found.total_ml == 12
    assert found.starting is not None
    assert found.starting.told == chamber(10)
    assert found.up_to == at(40)
    assert found.questions == ()


def test_emptying_keeps_what_drained() -> None:
    """What stood in the chamber counts on after it is emptied, also within its hour."""
    found = figures(
        (0, chamber(10)), (20, chamber(30)), (21, EMPTIED), (40, chamber(6)), (50, chamber(8))
    )
    assert found.total_ml == 28
    assert hours(found) == {"16:00": 28}
    assert found.questions == ()


def test_emptying_with_its_volume_is_a_reading_just_before() -> None:
    """The hour keeps what was poured off: 10 to 30 mL, emptied at 30, then 8 mL are 28 mL."""
    emptied_at_30 = ChamberEmptied(volume_ml=30)
    found = figures((0, chamber(10)), (21, emptied_at_30), (50, chamber(8)))
    assert (found.total_ml, hours(found), found.questions) == (28, {"16:00": 28}, ())
    read_too = figures((0, chamber(10)), (20, chamber(30)), (21, emptied_at_30), (50, chamber(8)))
    assert (read_too.total_ml, read_too.questions) == (28, ())


def test_a_chamber_first_told_when_emptied_is_where_counting_starts() -> None:
    """What stood in it before the first telling may be older than the leg."""
    found = figures((5, ChamberEmptied(volume_ml=22)), (30, chamber(4)))
    assert found.total_ml == 4
    assert found.starting is not None
    assert found.starting.told == chamber(22)


def test_less_poured_off_than_was_read_is_a_question() -> None:
    """A volume below the last reading is asked about, and the chamber is empty all the same."""
    found = figures(
        (0, chamber(10)), (20, chamber(30)), (21, ChamberEmptied(volume_ml=25)), (40, chamber(5))
    )
    assert found.total_ml == 25
    assert [(q.number, "below the 30 mL" in q.text) for q in found.questions] == [(3, True)]


def test_an_emptied_chamber_starts_at_zero() -> None:
    """Where the chamber was emptied first, its first reading is all output."""
    found = figures((1, EMPTIED), (30, chamber(9)))
    assert (found.total_ml, found.starting) == (9, None)


def test_a_first_reading_long_after_a_said_volume_is_a_question() -> None:
    """What drained between a said volume and the first reading is in neither: that is said after 5 min."""
    late = figures((10, drained(5)), (30, chamber(20)), (50, chamber(30)))
    assert (late.total_ml, [q.number for q in late.questions]) == (15, [2])
    assert "is not counted" in late.questions[0].text
    assert figures((10, drained(5)), (15, chamber(20))).questions == ()
    assert figures((30, chamber(20)), (50, chamber(30))).questions == ()


def test_emptying_unread_is_a_question() -> None:
    """What drained before an emptying without a reading is unknown, and that is said."""
    found = figures((0, chamber(10)), (30, EMPTIED), (40, chamber(5)))
    assert found.total_ml == 5
    assert [q.number for q in found.questions] == [2]
    assert "not counted" in found.questions[0].text


def test_an_emptying_may_follow_the_reading_by_some_minutes() -> None:
    """An emptying up to five minutes after the last output entry loses nothing worth asking."""
    assert figures((0, chamber(10)), (20, chamber(30)), (25, EMPTIED)).questions == ()
    assert len(figures((0, chamber(10)), (20, chamber(30)), (25.1, EMPTIED)).questions) == 1


def test_things_told_for_one_moment_have_an_order() -> None:
    """At one moment what was flushed in or drained is read, and what was read is emptied."""
    at_once = (EMPTIED, chamber(30), drained(4), flushed(10))
    told: list[tuple[float, Entry]] = [(20, entry) for entry in at_once]
    found = figures((0, chamber(0)), *told, (40, chamber(5)))
    assert found.total_ml == 25
    assert found.questions == ()


def test_said_volumes_add_up() -> None:
    """Drained volumes said directly are summed."""
    found = figures((10, drained(6)), (30, drained(12)), (50, drained(0.5)))
    assert found.total_ml == 18.5


def test_the_two_ways_do_not_count_twice() -> None:
    """A drained volume between two readings is part of their rise; after the last it is added."""
    found = figures((0, chamber(10)), (15, drained(5)), (30, chamber(22)), (45, drained(4)))
    assert found.total_ml == 16
    assert found.questions == ()


def test_a_chamber_that_rose_less_than_said_decides() -> None:
    """Where the chamber rose by less than was said, the chamber counts and a question is asked."""
    found = figures((0, chamber(10)), (15, drained(9)), (30, chamber(14)))
    assert found.total_ml == 4
    assert "4 mL are counted" in found.questions[0].text
    found = figures((0, chamber(10)), (45, drained(9)), (75, chamber(14)))
    assert hours(found) == {"16:00": 3.2, "17:00": 0.8}


def test_a_falling_chamber_is_a_question_not_a_negative() -> None:
    """A lower reading without emptying is asked about and moves nothing."""
    found = figures((0, chamber(10)), (10, chamber(50)), (20, chamber(15)), (30, chamber(55)))
    assert found.total_ml == 45
    assert [(q.number, "below the 50 mL" in q.text) for q in found.questions] == [(3, True)]


def test_a_flush_is_not_output() -> None:
    """10 mL flushed in and 25 mL risen are 15 mL of output."""
    found = figures((0, chamber(0)), (10, flushed(10)), (20, chamber(25)))
    assert (found.total_ml, found.flushed_ml, found.flush_left_ml) == (15, 10, 0)


def test_a_flush_never_makes_less_than_nothing() -> None:
    """What a flush exceeds the output by is carried on, and never taken off what came before."""
    found = figures(
        (0, chamber(0)), (10, chamber(8)), (11, flushed(10)), (20, chamber(12)), (30, chamber(15))
    )
    assert found.total_ml == 8
    assert found.flush_left_ml == 3


@pytest.mark.parametrize(
    "told",
    [
        ((0, flushed(10)), (5, chamber(12)), (20, chamber(27))),
        ((0, chamber(20)), (1, flushed(10)), (3, EMPTIED), (20, chamber(15))),
    ],
    ids=["first reading", "emptying"],
)
def test_a_flush_that_was_never_read_is_a_question(told: tuple[tuple[float, Entry], ...]) -> None:
    """Where a flush may have left the count with the chamber, taking it off later is asked about."""
    found = figures(*told)
    assert found.total_ml == 5
    number = 1 + [entry for _, entry in told].index(flushed(10))
    assert [(q.number, "comes off" in q.text) for q in found.questions] == [(number, True)]


def test_hours_are_clock_hours_of_the_leg() -> None:
    """What drained across the full hour is shared evenly over the time, by the leg's clock."""
    found = figures((0, chamber(0)), (45, chamber(9)), (75, chamber(21)), (150, chamber(36)))
    assert hours(found) == {"16:00": 15, "17:00": 15, "18:00": 6}


def test_half_hour_zones_have_their_own_hours() -> None:
    """A clock half an hour off splits at its own full hour."""
    told = entries((0, chamber(0)), (60, chamber(10)))
    found = output(told, START, timezone(timedelta(hours=5, minutes=30)))
    assert hours(found) == {"19:00": 5, "20:00": 5}


def test_nothing_told_is_nothing_known() -> None:
    """Without entries there is no output, no hour and no moment up to which it holds."""
    found = figures((5, flushed(10)))
    assert (found.total_ml, found.by_hour, found.up_to) == (0, (), None)
    assert found.flush_left_ml == 10


def test_what_stands_for_how_much_is_told() -> None:
    """Unconfirmed entries count and are told; corrected and withdrawn ones do not count."""
    told = [
        *entries((0, chamber(0)), (10, chamber(8))),
        *entries((20, chamber(9)), (21, flushed(0)), state=EntryState.UNCONFIRMED),
        *entries((30, chamber(90)), state=EntryState.CORRECTED),
        *entries((40, chamber(95)), state=EntryState.WITHDRAWN),
    ]
    found = output(told, START, ZONE)
    assert (found.total_ml, found.unconfirmed) == (9, 2)


def test_what_happened_before_the_start_is_taken() -> None:
    """A volume told for a moment before the leg started falls into that moment's hour."""
    assert hours(figures((-5, drained(3)))) == {"15:00": 3}


volumes = st.integers(0, 60).map(float)
told_facts = st.lists(
    st.tuples(
        st.integers(0, 300),
        st.one_of(
            volumes.map(chamber),
            volumes.map(drained),
            st.integers(0, 20).map(flushed),
            st.just(EMPTIED),
            volumes.map(lambda ml: ChamberEmptied(volume_ml=ml)),
        ),
    ),
    max_size=14,
)


@given(told_facts, st.randoms(use_true_random=False))
def test_the_order_of_telling_does_not_matter(
    told: list[tuple[float, Entry]], chance: Random
) -> None:
    """The same facts told in any order give the same output."""
    shuffled = list(told)
    chance.shuffle(shuffled)
    one, other = figures(*told), figures(*shuffled)
    assert (one.total_ml, one.by_hour, one.up_to) == (other.total_ml, other.by_hour, other.up_to)
    assert [(q.at, q.text) for q in one.questions] == [(q.at, q.text) for q in other.questions]


def test_emptying_twice_at_one_moment_can_be_told_in_either_order() -> None:
    """An emptying without a volume comes before one with a volume of nothing."""
    either = [(0.0, EMPTIED), (0.0, ChamberEmptied(volume_ml=0))]
    assert figures(*either).by_hour == figures(*either[::-1]).by_hour


def test_hours_from_any_moment() -> None:
    """12 mL from 14:00 to 15:00 are, by hours from 14:20, 4 mL before it and 8 mL after."""
    increments = figures((0, chamber(5)), (60, chamber(17))).increments
    found = hourly(increments, at(20))
    assert [hour for hour, _ in found] == [at(-40), at(20)]
    assert [volume for _, volume in found] == pytest.approx([4, 8])


@given(told_facts)
def test_the_hours_sum_to_the_total(told: list[tuple[float, Entry]]) -> None:
    """No hour is negative, and all hours together are the total."""
    found = figures(*told)
    assert all(volume >= 0 for _, volume in found.by_hour)
    assert sum(volume for _, volume in found.by_hour) == pytest.approx(found.total_ml)
    by_departure = hourly(found.increments, at(37))
    assert sum(volume for _, volume in by_departure) == pytest.approx(found.total_ml)
    assert sum(increment.volume_ml for increment in found.increments) == pytest.approx(
        found.total_ml
    )
    assert 0 <= found.flush_left_ml <= found.flushed_ml


class Bedside:
    """A drain that really drips, watched by an honest nurse: the truth to compare with."""

    def __init__(self, start_ml: float) -> None:
        self.minute = 0.0
        self.scale_ml = start_ml
        self.truth_ml = 0.0
        self.unsaid_ml = 0.0
        self.flushed_ml = 0.0
        self.poured_ml = 0.0
        self.told: list[tuple[float, Entry]] = [(0.0, chamber(start_ml))]

    def drip(self, volume_ml: float) -> None:
        """Output flows for some minutes."""
        self.minute += 7
        self.scale_ml += volume_ml
        self.truth_ml += volume_ml
        self.unsaid_ml += volume_ml

    def tell(self, how: str) -> None:
        """The nurse says what she sees or does."""
        if how == "read":
            self.told.append((self.minute, chamber(self.scale_ml)))
        elif how == "say":
            self.told.append((self.minute, drained(self.unsaid_ml)))
        elif how == "empty":
            self.told += [(self.minute, chamber(self.scale_ml)), (self.minute + 1, EMPTIED)]
            self.minute += 1
            self._pour_off()
        elif how == "pour":
            self.told.append((self.minute, ChamberEmptied(volume_ml=self.scale_ml)))
            self._pour_off()
        elif how == "flush":
            self.told.append((self.minute, flushed(4)))
            self.scale_ml += 4
            self.flushed_ml += 4
            self.told.append((self.minute + 1, chamber(self.scale_ml)))
            self.minute += 1
        self.unsaid_ml = 0.0

    def _pour_off(self) -> None:
        self.poured_ml += self.scale_ml
        self.scale_ml = 0.0


honest = given(
    volumes.filter(lambda v: v < 40),
    st.lists(
        st.tuples(st.integers(0, 12), st.sampled_from(["read", "say", "empty", "pour", "flush"])),
        max_size=8,
    ),
)


@honest
def test_an_honest_leg_is_counted_exactly(start_ml: float, doings: list[tuple[int, str]]) -> None:
    """However a nurse mixes readings, volumes, emptyings and flushes, the total is what drained."""
    bedside = Bedside(start_ml)
    for volume_ml, how in doings:
        bedside.drip(volume_ml)
        bedside.tell(how)
    told: tuple[LegEntry, ...] = entries(*bedside.told)
    found = output(told, START, ZONE)
    assert found.total_ml == pytest.approx(bedside.truth_ml)
    assert found.questions == ()


@honest
def test_all_that_went_in_is_accounted_for(start_ml: float, doings: list[tuple[int, str]]) -> None:
    """What stood in it, drained and was flushed in is what was poured off and stands in it at the end."""
    bedside = Bedside(start_ml)
    for volume_ml, how in doings:
        bedside.drip(volume_ml)
        bedside.tell(how)
    bedside.tell("read")
    found = output(entries(*bedside.told), START, ZONE)
    assert found.starting is not None
    went_in_ml = found.starting.told.volume_ml + found.total_ml + found.flushed_ml
    assert found.flushed_ml == pytest.approx(bedside.flushed_ml)
    assert went_in_ml - found.flush_left_ml == pytest.approx(bedside.poured_ml + bedside.scale_ml)
