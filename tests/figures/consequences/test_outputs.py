from __future__ import annotations

from tests.figures.consequences.told import (
    at,
    changed,
    leg,
    marked,
    open_now,
    said,
    said_at,
)
from voice.entries.kinds.drain import ChamberEmptied, ChamberReading, Flushed, StopcockClosed
from voice.entries.kinds.order import OrderFlushLimit, OrderHourlyLimit
from voice.entries.kinds.vitals import HeartRate
from voice.entries.leg import EntryState, LegSettings

EMPTIED = ChamberEmptied()
STOPCOCK = StopcockClosed()
PULSE = HeartRate(rate_per_min=88)
FLUSH = Flushed(volume_ml=10)


def chamber(volume_ml: float) -> ChamberReading:
    """A chamber reading."""
    return ChamberReading(volume_ml=volume_ml)


# --- the way to the bag ------------------------------------------------------------------------


def test_an_emptied_chamber_is_asked_about_with_the_next_entry() -> None:
    """An entry that is no "stopcock closed" brings the question, once."""
    told = leg((1, EMPTIED), (2, PULSE), (3, PULSE))
    assert said_at(told, "way to the bag") == [2]
    assert said(told, "way to the bag", 2) == [
        "chamber emptied; is the stopcock to the bag closed? say stopcock closed"
    ]


def test_the_way_to_the_bag_is_open_until_it_is_told() -> None:
    """It ends when the stopcock was closed."""
    told = leg((1, EMPTIED), (40, STOPCOCK))
    assert open_now(told, "way to the bag", 39)
    assert not open_now(told, "way to the bag", 40)
    assert marked(told, "way to the bag") == {}


def test_a_stopcock_in_the_same_breath_counts() -> None:
    """Said for the same moment, before or after the emptying, it is told; said earlier it is not."""
    assert not open_now(leg((1, STOPCOCK), (1, EMPTIED)), "way to the bag")
    assert not open_now(leg((1, EMPTIED), (1, STOPCOCK)), "way to the bag")
    assert open_now(leg((0.9, STOPCOCK), (1, EMPTIED)), "way to the bag")


def test_emptying_again_asks_again_and_leaves_the_first_marked() -> None:
    """What drained between two emptyings with the stopcock never told closed stays in doubt."""
    told = leg((1, EMPTIED), (2, PULSE), (30, EMPTIED), (31, PULSE), (32, STOPCOCK))
    assert said_at(told, "way to the bag") == [2, 4]
    assert list(marked(told, "way to the bag")) == [1]


def test_an_emptying_taken_back_asks_nothing() -> None:
    """A withdrawn emptying has no consequence."""
    told = changed(leg((1, EMPTIED), (2, PULSE)), 1, state=EntryState.WITHDRAWN)
    assert said(told, "way to the bag") == []


# --- flushes -----------------------------------------------------------------------------------


def test_without_an_order_the_third_flush_is_asked_about() -> None:
    """Two flushes pass; the third and the fourth are asked about and marked."""
    told = leg(*((m, FLUSH) for m in (1, 2, 3, 4)))
    assert said_at(told, "flushed beyond the order") == [3, 4]
    assert said(told, "flushed beyond the order", 3) == [
        "this is flush 3; without an order, usual are 2"
    ]
    assert list(marked(told, "flushed beyond the order")) == [3, 4]


def test_the_order_says_how_many_flushes_pass() -> None:
    """One allowed: the second is asked about. A higher number that is told later upholds it."""
    told = leg((0, OrderFlushLimit(count=1)), (1, FLUSH), (2, FLUSH))
    assert said(told, "flushed beyond the order") == ["this is flush 2; the order allows 1"]
    more = leg((0, OrderFlushLimit(count=1)), (1, FLUSH), (2, FLUSH), (3, OrderFlushLimit(count=2)))
    assert marked(more, "flushed beyond the order") == {}
    none = leg((0, OrderFlushLimit(count=0)), (1, FLUSH))
    assert said(none, "flushed beyond the order") == ["this is flush 1; the order allows 0"]


def test_a_flush_that_is_corrected_counts_once() -> None:
    """A flush and its correction are one flush; one told late counts where it happened."""
    told = leg((1, FLUSH), (2, FLUSH), (2, Flushed(volume_ml=5)))
    told = changed(told, 2, state=EntryState.CORRECTED, replaced_by=3)
    assert marked(told, "flushed beyond the order") == {}
    late = changed(leg((5, FLUSH), (6, FLUSH), (1, FLUSH)), 3, spoken_at=at(7))
    assert list(marked(late, "flushed beyond the order")) == [2]


# --- the hourly limit --------------------------------------------------------------------------

TEN = OrderHourlyLimit(volume_ml=10)


def test_an_hour_at_its_limit_is_told_once() -> None:
    """10 mL of an ordered 10 are told, 9.5 are not, and 12 in the same hour not again."""
    told = leg((0, TEN), (1, chamber(0)), (20, chamber(9.5)), (30, chamber(10)), (40, chamber(12)))
    assert said_at(told, "output at the order") == [4]
    assert said(told, "output at the order", 4) == [
        "output this hour has reached the ordered 10 mL"
    ]


def test_an_hour_at_its_limit_is_over_with_the_hour() -> None:
    """At 15:00 the output of the hour from 14:00 is no longer open."""
    told = leg((0, TEN), (1, chamber(0)), (30, chamber(12)))
    assert open_now(told, "output at the order", 59.9) == [
        "Output from 14:00 has reached the ordered 10 mL an hour"
    ]
    assert open_now(told, "output at the order", 60) == []


def test_an_hourly_limit_in_doubt_loosens_none_that_was_confirmed() -> None:
    """12 mL reach a confirmed 10 also where 50 were told and never confirmed."""
    told = leg((0, TEN), (1, chamber(0)), (5, OrderHourlyLimit(volume_ml=50)), (30, chamber(12)))
    assert said(told, "output at the order") == []
    doubtful = changed(told, 3, state=EntryState.UNCONFIRMED)
    assert said(doubtful, "output at the order") == [
        "output this hour has reached the ordered 10 mL"
    ]


OVER = "output of an hour that is over has reached the ordered 10 mL"


def test_an_hour_that_is_read_when_it_is_over_is_told_all_the_same() -> None:
    """A chamber that is read five seconds past the hour brings its hour past the order, and that is said."""
    told = leg((0, TEN), (0.5, chamber(0)), (60 + 5 / 60, chamber(40)), (90, chamber(41)))
    assert said(told, "output at the order", 3) == [OVER]
    assert said_at(told, "output at the order") == [3]


def test_hours_that_are_over_are_told_once_together() -> None:
    """A reading that brings three hours past the order says so once, and the hour that runs by itself."""
    told = leg((0, TEN), (0, chamber(0)), (200, chamber(100)), (205, chamber(101)))
    assert said(told, "output at the order", 3) == [
        "output this hour has reached the ordered 10 mL",
        OVER,
    ]
    assert said_at(told, "output at the order") == [3]


def test_what_was_said_in_the_hour_is_not_said_again_when_it_is_over() -> None:
    """Past the order at 14:40 and told so, the hour is not told again with the reading at 15:10."""
    told = leg((0, TEN), (0, chamber(0)), (40, chamber(12)), (70, chamber(13)))
    assert said_at(told, "output at the order") == [3]
    late_order = leg((0, chamber(0)), (40, chamber(12)), (70, TEN))
    assert said(late_order, "output at the order") == [OVER]


def test_hours_go_by_the_legs_clock() -> None:
    """On a clock half an hour off, 12 mL that span two of its hours are past neither."""
    told = leg(
        (0, TEN), (20, chamber(0)), (40, chamber(12)), settings=LegSettings(utc_offset_min=30)
    )  # fmt: skip
    assert said_at(told, "output at the order") == []
    straight = leg((0, TEN), (20, chamber(0)), (40, chamber(12)))
    assert said_at(straight, "output at the order") == [3]


def test_the_limit_that_was_told_last_before_the_hours_end_counts() -> None:
    """A new hourly limit holds for the hour in which it is told; the first also for those before."""
    told = leg((0, TEN), (1, chamber(0)), (30, chamber(12)), (50, OrderHourlyLimit(volume_ml=20)))
    assert open_now(told, "output at the order", 55) == []
    late = leg((1, chamber(0)), (30, chamber(12)), (50, TEN))
    assert said(late, "output at the order") == ["output this hour has reached the ordered 10 mL"]
    assert said(leg((1, chamber(0)), (30, chamber(12))), "output at the order") == []
