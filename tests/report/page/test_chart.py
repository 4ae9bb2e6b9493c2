from __future__ import annotations

from io import BytesIO
from itertools import pairwise

import numpy as np
import pytest
from matplotlib import rc_context, rcParams
from PIL import Image

from tests.report.legs import GOLDEN, read_leg
from tests.report.page.pages import NAMES, page_of
from voice.report.page.chart import _in_rows, _length, _named, chart
from voice.report.page.course import Course, Mark, Reading, course
from voice.report.telling import Telling


def course_of(name: str) -> Course:
    """What is drawn of an invented leg."""
    leg, now = read_leg(GOLDEN / f"{name}.toml")
    found = course(Telling(leg, leg.ended_at or now))
    assert found is not None
    return found


def test_the_course_of_the_long_leg() -> None:
    """By hand: closed from minute 20, 85 and 215; the ICP in three stretches, the CPP in three."""
    found = course_of("long")
    assert found.closed == ((20, 32), (85, 101), (215, 230))
    assert found.length_min == 250
    assert [len(stretch) for stretch in found.icp.stretches] == [4, 8, 2]
    assert [len(stretch) for stretch in found.cpp.stretches] == [3, 5, 1]
    assert (found.icp_limit, found.cpp_target, found.hourly_limit) == (20, 60, 15)
    assert found.done[:2] == (Mark(4, "level 10"), Mark(12, "propofol 4 mg/kg/h"))
    assert [start for start, _ in found.output] == [0, 60, 120, 180, 240]
    assert [one.minute for one in found.icp.readings if one.doubt] == [200]


def test_a_limit_stands_in_the_unit_of_the_chart() -> None:
    """An order in mmHg is drawn at 27.2 where the leg's pressures are in cmH2O."""
    leg, now = read_leg(GOLDEN / "long.toml")
    settings = leg.settings.model_copy(update={"pressure_unit": "cmH2O"})
    found = course(Telling(leg.model_copy(update={"settings": settings}), now))
    assert found is not None
    assert found.icp_limit == pytest.approx(27.19, abs=5e-3)
    assert found.icp.readings[0].value == pytest.approx(19.03, abs=5e-3)


def test_doubt_is_drawn_and_told() -> None:
    """A reading after a failed zero and one never confirmed are marked, also in the table."""
    found = course_of("troubled")
    assert [one.doubt for one in found.icp.readings] == [
        None,
        "unconfirmed",
        None,
        "not to be relied on",
    ]
    leg, now = read_leg(GOLDEN / "troubled.toml")
    pressures, _ = found.tables(Telling(leg, now).time)
    assert [row[-1] for row in pressures.rows] == ["", "unconfirmed", "", "not to be relied on"]


@pytest.mark.parametrize("name", NAMES)
def test_it_needs_no_colour(name: str) -> None:
    """Every point of the picture is black, white or grey, and not all of them are white."""
    (chart,) = (one.chart for one in page_of(name).sections if one.chart)
    points = np.asarray(Image.open(BytesIO(chart.png)).convert("RGB"))
    assert (points.max(axis=2) == points.min(axis=2)).all()
    assert points.min() == 0


def test_values_close_together_are_not_all_written() -> None:
    """The last, the highest and the lowest are written first, and others where there is room."""
    readings = [Reading(minute, 10 + minute % 7, None) for minute in range(0, 60, 2)]
    named = _named(readings, 5)
    assert named[0] == readings[-1]
    assert max(readings, key=lambda one: one.value) in named
    assert min(readings, key=lambda one: one.value) in named
    minutes = sorted(one.minute for one in named)
    assert all(b - a >= 5 for a, b in pairwise(minutes))
    assert len(minutes) > 5
    assert _named([], 5) == []


def test_the_style_of_this_machine_changes_nothing() -> None:
    """A user's own style of charts neither reaches the picture nor is lost by it."""
    leg, now = read_leg(GOLDEN / "quiet.toml")
    with rc_context({"axes.facecolor": "red", "font.size": 30}):
        drawn = chart(Telling(leg, leg.ended_at or now))
        assert rcParams["font.size"] == 30
    (usual,) = (one.chart for one in page_of("quiet").sections if one.chart)
    assert drawn == usual


def test_names_cover_no_other_name() -> None:
    """Marks close together stand in rows of their own; what finds none keeps its tick."""
    marks = [Mark(minute, "noradrenaline 0.1 mcg/kg/min") for minute in (10, 11, 12, 13, 14, 200)]
    placed = _in_rows(marks, 240)
    assert [row for _, row in placed] == [0, 1, 2, 3, 3, 0]
    assert [mark.text == "" for mark, _ in placed] == [False] * 4 + [True, False]
    assert _length(marks[0], 240) > 1
