"""What the summary says of the output against its order, and of its rate."""

from __future__ import annotations

from tests.figures.conftest import at
from tests.report.sections.told import telling
from voice.entries.kinds.drain import ChamberReading, DrainClamped, DrainOpened
from voice.entries.kinds.drain_care import Stopcocks
from voice.entries.kinds.order import OrderHourlyLimit
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
        (17, "no clock hour reached it"),
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
