from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from tests.report.legs import GOLDEN, read_leg
from voice.entries.kinds.drain import Pressure
from voice.entries.leg import Leg
from voice.review.course import Courses, course

START = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)


def _leg(*rows: dict[str, object]) -> Leg:
    """An invented leg of 20 min; a row is an entry with ``minute``, and ``state`` if not confirmed."""
    entries = []
    for number, row in enumerate(rows, start=1):
        at = START + timedelta(minutes=row.pop("minute"))  # type: ignore[arg-type]
        state = row.pop("state", "confirmed")
        times = {"spoken_at": at, "happened_at": at}
        entries.append({"number": number, "heard": "", "state": state, **times, "entry": row})
    return Leg.model_validate(
        {
            "id": "invented",
            "settings": {},
            "started_at": START,
            "ended_at": START + timedelta(minutes=20),
            "entries": entries,
        }
    )


def test_each_value_names_its_entry_and_its_doubt() -> None:
    """A reading stands at its time with the entry that tells it, and says why it is in doubt."""
    leg = _leg(
        {"kind": "pressure", "value": 14, "unit": "mmHg", "minute": 1},
        {"kind": "pressure", "value": 40, "unit": "mmHg", "minute": 2, "state": "withdrawn"},
        {"kind": "mean_pressure", "value_mmhg": 80, "minute": 3},
        {"kind": "pressure", "value": 15, "unit": "mmHg", "minute": 4, "state": "unconfirmed"},
    )
    found = course(leg)
    told = [(one.at_s - found.start_s, one.value, one.number, one.doubt) for one in found.pressure]
    assert told == [(60, 14, 1, ""), (240, 15, 4, "unconfirmed")]
    assert [(one.value, one.number) for one in found.cpp] == [(66, 1), (65, 4)]
    assert found.end_s - found.start_s == 20 * 60


def test_a_pressure_after_a_failed_zero_says_so() -> None:
    """What makes a reading unreliable is said with it."""
    leg = _leg(
        {"kind": "zero_failed", "minute": 1},
        {"kind": "pressure", "value": 14, "unit": "mmHg", "minute": 2},
    )
    (reading,) = course(leg).pressure
    assert "not to be relied on" in reading.doubt


def test_a_leg_that_has_not_ended_is_shown_up_to_the_last_that_is_known() -> None:
    """Of a leg that was broken off nothing is drawn after the last that is known of it, if only that somebody spoke."""
    leg = _leg({"kind": "drain_zeroed", "minute": 7}).model_copy(update={"ended_at": None})
    found = course(leg)
    assert found.end_s - found.start_s == 7 * 60
    heard_until = leg.model_copy(update={"flown_until": START + timedelta(minutes=9)})
    assert course(heard_until).end_s - found.start_s == 9 * 60


def test_a_clamping_that_has_not_ended_runs_to_the_end_of_what_is_shown() -> None:
    """The drain is drawn closed up to the end, and told as not opened."""
    leg = _leg({"kind": "drain_clamped", "reason": "transfer", "minute": 5})
    (period,) = course(leg).closed
    assert (period.end_s - period.start_s, period.ended) == (900, False)
    assert period.reason == "transfer"


def test_the_limits_are_those_that_were_ordered() -> None:
    """An ordered limit is drawn in the unit of the pressures."""
    leg = _leg(
        {"kind": "order_pressure_limit", "side": "above", "value": 22, "unit": "mmHg", "minute": 1},
        {"kind": "order_hourly_limit", "volume_ml": 20, "minute": 1},
    )
    found = course(leg)
    assert (found.pressure_limit, found.hourly_limit_ml) == (22, 20)
    assert found.cpp_target is None


def test_an_entry_from_before_the_start_is_drawn() -> None:
    """Where something happened before the leg began, the time line begins there."""
    leg = _leg({"kind": "leg_mark", "mark": "crew notified", "minute": -30})
    found = course(leg)
    assert found.end_s - found.start_s == pytest.approx(50 * 60)
    assert [one.text for one in found.events] == ["Crew notified"]


@pytest.mark.parametrize("name", ["quiet", "troubled", "long", "infusions"])
def test_every_value_lies_within_the_time_line(name: str) -> None:
    """Nothing of a whole leg is drawn outside the chart, and all of it can be sent."""
    found = course(read_leg(GOLDEN / f"{name}.toml")[0])
    values, done = (*found.pressure, *found.level), (*found.given, *found.events)
    at = [*(one.at_s for one in values), *(one.at_s for one in done)]
    assert all(found.start_s <= moment <= found.end_s for moment in at)
    assert type(found).model_validate_json(found.model_dump_json()) == found


def test_a_course_is_worked_out_again_where_an_entry_has_changed() -> None:
    """A remark about the leg leaves its course the same object; a changed entry makes a new one."""
    leg = _leg({"kind": "pressure", "value": 14, "unit": "mmHg", "minute": 1})
    courses = Courses()
    first = courses.of(leg)
    assert courses.of(leg.model_copy(update={"not_understood": 3})) is first
    (one,) = leg.entries
    changed = one.model_copy(update={"entry": Pressure(value=15, unit="mmHg")})
    assert [
        v.value for v in courses.of(leg.model_copy(update={"entries": (changed,)})).pressure
    ] == [15]
