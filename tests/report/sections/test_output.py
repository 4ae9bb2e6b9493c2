"""What the summary says of the output against its order, and of its rate."""

from __future__ import annotations

from tests.figures.conftest import at
from tests.report.sections.told import telling
from voice.entries.kinds.drain import ChamberReading, DrainClamped, Drained, DrainOpened
from voice.entries.kinds.drain_care import Stopcocks
from voice.entries.kinds.order import OrderHourlyLimit
from voice.entries.said import About, Question
from voice.figures.reminding import due
from voice.report.answers.asking import Asking
from voice.report.answers.output import output_and_order
from voice.report.page.course import course
from voice.report.screen import screen
from voice.report.sections.drain import clamped
from voice.report.sections.output import output_sums
from voice.report.telling import Telling

READ = (
    (0.0, ChamberReading(volume_ml=0)),
    (30.0, ChamberReading(volume_ml=8)),
    (60.0, ChamberReading(volume_ml=16)),
    (80.0, ChamberReading(volume_ml=20)),
)


def line(told: Telling, beginning: str) -> str:
    """The only line of the sums that begins so."""
    (found,) = [one for one in output_sums(told) if one.startswith(beginning)]
    return found


def test_each_hour_that_reached_the_order_is_told() -> None:
    """16 mL in the first hour, with 15 ordered, are 1 mL over; with 16 they reached it; 17 is more."""
    for limit, told in (
        (15, "16 mL from 14:00, at most 15 mL, 1 mL over"),
        (16, "16 mL from 14:00, at most 16 mL"),
        (17, "no clock hour that was told reached it"),
    ):
        found = telling((0, OrderHourlyLimit(volume_ml=limit)), *READ, until=90)
        assert line(found, "Against") == f"Against the order: {told}."
    assert not [one for one in output_sums(telling(*READ)) if one.startswith("Against")]


def test_the_hour_that_runs_has_a_rate_and_an_end() -> None:
    """4 mL in 20 min are 12 an hour, and 12 at its end; once the leg is over there is no end to come."""
    rate = "Rate in the hour from 15:00: 12 mL an hour, over 20 min"
    running = telling(*READ, until=85)
    assert line(running, "Rate") == f"{rate}; at this rate 12 mL by its end."
    ended = Telling(running.leg.model_copy(update={"ended_at": at(85)}), at(85))
    assert line(ended, "Rate") == f"{rate}."
    assert line(telling(*READ, until=121), "Rate") == f"{rate}."


def test_a_few_minutes_give_no_rate() -> None:
    """Less than a quarter of an hour says nothing of the rest."""
    short = telling(*READ[:1], (10, ChamberReading(volume_ml=4)), until=20)
    assert not [one for one in output_sums(short) if one.startswith("Rate")]


def test_closed_times_are_told_by_their_reasons() -> None:
    """4 min for a reading, 10 by stopcocks and 6 of which no reason was told are 20 min in all."""
    told = telling(
        (0, DrainClamped(reason="reading")), (4, DrainOpened()),
        (10, Stopcocks(position="off")), (20, Stopcocks(position="on")),
        (30, DrainClamped()), (36, DrainOpened()),
    )  # fmt: skip
    assert clamped(told) == [
        "14:00 to 14:04, 4 min for reading.",
        "14:10 to 14:20, 10 min by stopcocks.",
        "14:30 to 14:36, 6 min.",
        (
            "In all 20 min (for reading 4, by stopcocks 10, no reason told 6), longest 10 min; 33% of "
            "the leg."
        ),
    ]


def test_where_a_leg_breaks_off_no_hour_goes_on() -> None:
    """Without an end, and known of no longer, the hour leads nowhere, and what is closed is so at least."""
    running = telling(*READ, (84, DrainClamped()), until=85)
    leg = running.leg.model_copy(update={"flown_until": at(85)})
    broken_off = Telling(leg, at(85))
    assert line(broken_off, "Rate") == "Rate in the hour from 15:00: 12 mL an hour, over 20 min."
    assert clamped(broken_off)[0] == "15:24 and still clamped, 1 min or more."
    assert clamped(Telling(leg, at(86)))[0] == "15:24 and still clamped, 2 min."


def chamber(volume_ml: float) -> ChamberReading:
    """A chamber reading."""
    return ChamberReading(volume_ml=volume_ml)


TWENTY = OrderHourlyLimit(volume_ml=20)


def order_aloud(told: Telling) -> str:
    """The spoken answer on output and order."""
    (spoken,) = output_and_order(
        Question(about=About.OUTPUT_AND_ORDER), Asking(told.leg, told.until)
    )
    return spoken


def test_nothing_is_said_against_the_order_where_nothing_was_told() -> None:
    """An order on the output, and no output: no hour is said to have kept to it."""
    assert output_sums(telling((0, TWENTY), (5, chamber(10)))) == [
        "Counting starts at the first chamber reading, 10 mL at 14:05."
    ]


def test_no_output_rounds_an_hour_up_to_its_order() -> None:
    """20.3 mL over 61 min are 19.97 in the first hour: below an ordered 20, wherever they are told."""
    told = telling((0, TWENTY), (0, chamber(0)), (61, chamber(20.3)), until=62)
    assert line(told, "By clock hour") == "By clock hour: 19.97 mL from 14:00; 0.3 mL from 15:00."
    assert line(told, "Against") == "Against the order: no clock hour that was told reached it."
    assert "last hour, one nine point nine seven mils" in order_aloud(told)
    drawn = course(told)
    assert drawn is not None
    assert "Output by clock hour: 19.97 mL, 0.3 mL." in drawn.in_words(told.time)
    assert "OUT      19.97 mL since 14:00" in screen(told.leg, "listening", at(59), 80)


def test_what_is_over_by_less_than_a_tenth_is_told() -> None:
    """20.04 mL, 20 ordered, are 0.04 mL over; 20 mL, told in parts, are none over, aloud and written."""
    told = telling((0, TWENTY), (0, chamber(0)), (30, chamber(20.04)), until=31)
    assert line(told, "Against").endswith("20.04 mL from 14:00, at most 20 mL, 0.04 mL over.")
    assert "zero point zero four mils over the order" in order_aloud(told)
    parts = telling((0, TWENTY), *((m, Drained(volume_ml=0.1)) for m in range(1, 31)), until=31)
    three = telling(
        (0, OrderHourlyLimit(volume_ml=3)),
        *((m, Drained(volume_ml=0.1)) for m in range(1, 31)),
        until=31,
    )
    assert line(parts, "By clock") == "By clock hour: 3 mL from 14:00."
    assert line(three, "Against").endswith("3 mL from 14:00, at most 3 mL.")
    assert "over the order" not in order_aloud(three)


def test_a_limit_that_was_raised_does_not_hide_that_the_lower_was_reached() -> None:
    """12 mL by 14:20 had reached an ordered 10, also where 20 are ordered at 14:30."""
    told = telling(
        (0, OrderHourlyLimit(volume_ml=10)),
        (0, chamber(0)),
        (20, chamber(12)),
        (30, TWENTY),
        (40, chamber(13)),
    )
    assert line(told, "Against") == (
        "Against the order: 13 mL from 14:00, at most 20 mL; 12 mL by 14:20, when it was at most 10 mL."
    )
    within = telling(
        (0, OrderHourlyLimit(volume_ml=10)),
        (0, chamber(0)),
        (20, chamber(9)),
        (30, TWENTY),
        (40, chamber(13)),
    )
    assert line(within, "Against").endswith("no clock hour that was told reached it.")


def test_each_hour_goes_by_its_own_limit_aloud_as_written() -> None:
    """30 mL from 14:00 were within an ordered 40; the 20 that are ordered from 15:00 on are not theirs."""
    told = telling(
        (0, OrderHourlyLimit(volume_ml=40)),
        (0, chamber(0)),
        (60, chamber(30)),
        (61, TWENTY),
        (75, chamber(45)),
        until=80,
    )
    assert line(told, "Against").endswith("no clock hour that was told reached it.")
    assert order_aloud(told) == (
        "ordered, two zero mils an hour, this hour, one five mils, last hour, three zero mils"
    )
    more = telling(
        (0, OrderHourlyLimit(volume_ml=25)),
        (0, chamber(0)),
        (60, chamber(30)),
        (61, TWENTY),
        until=80,
    )
    assert order_aloud(more).endswith(
        "last hour, three zero mils, five mils over the order of then, two five mils"
    )


def test_a_reminder_rounds_no_volume_up_to_the_limit() -> None:
    """9.6 mL of an ordered 10 are near it, and are not told as 10."""
    told = telling((0, OrderHourlyLimit(volume_ml=10)), (0, chamber(0)), (20, chamber(9.6)))
    texts = [one.text for one in due(told.leg, at(21)) if one.key.rule == "output near the limit"]
    assert texts == ["output this hour 9.6 mL, ordered at most 10 mL; what is in the chamber now?"]


def test_a_first_reading_after_said_volumes_is_no_start_of_all_counting() -> None:
    """Where volumes were said before it, the summary says that the chamber alone counts from there."""
    told = telling((10, Drained(volume_ml=5)), (12, chamber(20)), (50, chamber(30)))
    assert "The chamber counts from its first reading, 20 mL at 14:12." in output_sums(told)
