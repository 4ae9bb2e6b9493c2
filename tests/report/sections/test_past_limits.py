"""What is told of pressures past an ordered limit: never less than was read, and never rounded away."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.figures.conftest import at
from tests.report.sections.told import telling
from voice.entries.kinds.drain import DrainClamped, DrainOpened, Pressure
from voice.entries.kinds.order import OrderClampLimit, OrderPerfusionTarget, OrderPressureLimit
from voice.entries.kinds.vitals import BloodPressure
from voice.entries.said import About, Question
from voice.report.answers.asking import Asking
from voice.report.answers.perfusion import perfusion_now
from voice.report.answers.report import report
from voice.report.answers.short_report import short_report
from voice.report.page.content import page
from voice.report.sections.drain import clamped
from voice.report.sections.perfusion import perfusion, perfusion_sums
from voice.report.sections.pressure import pressure_sums

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

NOT_ABOVE_22 = OrderPressureLimit(side="above", value=22, unit="mmHg")


def icp(value: float) -> Pressure:
    """A pressure in mmHg."""
    return Pressure(value=value, unit="mmHg")


@pytest.mark.parametrize(
    ("told", "written", "spoken"),
    [
        (
            [(5, icp(30))],
            "Above the ordered 22: 1 of 1 readings, for how long is not known.",
            "above the order, one of one reading, for how long is not known",
        ),
        (
            [(5, icp(10)), (10, icp(10)), (55, icp(30))],
            "Above the ordered 22: 1 of 3 readings, for how long is not known.",
            "above the order, one of three readings, for how long is not known",
        ),
        (
            [(5, icp(10)), (10, icp(23))],
            (
                "Above the ordered 22: 1 of 2 readings, under 1 min, area 0 mmHg min; "
                "with each reading held until the next 0 min, 0."
            ),
            "above the order, one of two readings, for less than one minute",
        ),
        (
            [(5, icp(22)), (10, icp(21))],
            "Above the ordered 22: no reading.",
            "no reading above the order",
        ),
    ],
)
def test_a_reading_past_the_order_is_counted_also_where_its_time_is_not_known(
    told: list[tuple[float, Entry]], written: str, spoken: str
) -> None:
    """A pressure that no other is near enough to is no time above the order, and is told all the same."""
    found = telling((0, NOT_ABOVE_22), *told)
    assert written in " ".join(pressure_sums(found))
    assert spoken in " ".join(short_report(Asking(found.leg, at(60))))


def test_a_perfusion_pressure_below_its_target_is_counted_alone_too() -> None:
    """One value below the target, which no other is near, is told as below, for no time that is known."""
    found = telling(
        (0, OrderPerfusionTarget(value_mmhg=60)),
        (1, BloodPressure(systolic_mmhg=110, diastolic_mmhg=60)),
        (2, icp(17)),
    )
    assert "Below the ordered 60: 1 of 1 values, for how long is not known." in perfusion_sums(
        found
    )


def test_no_output_rounds_a_perfusion_pressure_up_to_its_target() -> None:
    """76.67 less 17 is 59.67: beside an ordered 60 it is told as 59.7 wherever it is told."""
    found = telling(
        (0, OrderPerfusionTarget(value_mmhg=60)),
        (1, BloodPressure(systolic_mmhg=110, diastolic_mmhg=60)),
        (2, icp(17)),
    )
    asking = Asking(found.leg, at(3))
    assert "Last 59.7 at" in perfusion(found)[0]
    assert "Range 59.7 to 59.7." in perfusion(found)
    (now,) = perfusion_now(Question(about=About.PERFUSION_NOW), asking)
    assert "perfusion pressure, five nine point seven, ordered, six zero" in now
    assert "perfusion pressure: five nine point seven" in " ".join(short_report(asking))
    chart = next(one.chart for one in page(found.leg, at(3)).sections if one.chart)
    assert "CPP: first 59.7, last 59.7" in chart.alt
    assert any("59.7" in cell for table in chart.tables for row in table.rows for cell in row)


def test_a_pressure_in_the_other_unit_is_not_rounded_to_its_limit() -> None:
    """34 cmH2O are 25.009 mmHg: above an ordered 25, and told as 25.01."""
    found = telling(
        (0, OrderPressureLimit(side="above", value=25, unit="mmHg")),
        (1, Pressure(value=34, unit="cmH2O")),
    )
    assert pressure_sums(found)[0].startswith("Last 25.01 at 14:01, said as 34 cmH2O (above")
    assert "last two five point zero one" in " ".join(short_report(Asking(found.leg, at(2))))


def test_a_clamping_is_not_rounded_down_to_its_limit() -> None:
    """20.3 min, 20 ordered, are longer than that and told as 20.3; where nothing was ordered, as 20."""
    closed: list[tuple[float, Entry]] = [(0, DrainClamped(reason="scan")), (20.3, DrainOpened())]
    assert clamped(telling((0, OrderClampLimit(minutes=20)), *closed))[0] == (
        "14:00 to 14:20, 20.3 min for scan, longer than the 20 min ordered."
    )
    assert clamped(telling(*closed))[0] == "14:00 to 14:20, 20 min for scan."


def test_lengths_are_rounded_alike_aloud_and_written() -> None:
    """Clamped for 12.6 min are 13 min in the summary and "one three minutes" aloud, after the end as on it."""
    found = telling((0, DrainClamped(reason="scan")), (12.6, DrainOpened()))
    asking = Asking(found.leg, at(59.6))
    assert "clamped one time, one three minutes in all" in " ".join(short_report(asking))
    spoken = " ".join(report(Question(about=About.REPORT), asking))
    assert "one time, one three minutes in all" in spoken
    assert "leg: one hour" in spoken
    ended = found.leg.model_copy(update={"ended_at": at(60), "entries": found.leg.entries[:1]})
    spoken = " ".join(report(Question(about=About.REPORT), Asking(ended, at(180))))
    assert "clamped one time, one hour in all" in spoken
    assert "one time, three hours in all" not in spoken
