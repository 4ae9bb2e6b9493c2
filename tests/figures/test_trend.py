from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.figures.conftest import at, entries
from voice.entries.kinds.drain import Pressure
from voice.entries.kinds.drugs import DrugGiven
from voice.entries.kinds.laboratory import Laboratory
from voice.entries.kinds.vitals import (
    EndTidalCo2,
    EndTidalCo2Kpa,
    Temperature,
    TemperatureFahrenheit,
)
from voice.figures.facts import Fact
from voice.figures.trend import series, slope, trend


def readings(*told: tuple[float, float], confirmed: bool = True) -> list[Fact[float]]:
    """Readings by minute and value."""
    return [
        Fact(at(minute), value, number, confirmed) for number, (minute, value) in enumerate(told, 1)
    ]


def test_the_case_worked_by_hand() -> None:
    """At 0, 15, 30 and 60 min 12, 14, 15 and 18: rises 5.829 an hour, plus or minus 1.703.

    By hand: middles 0.4375 h and 14.75; spread 0.546875, products 3.1875, so 5.8286 an hour; what
    is left is 0.17143, by two degrees of freedom and the spread 0.15673, its root 0.39589, times
    4.303 is 1.7035 (scipy 1.17.1 gives the same).
    """
    found = trend(readings((0, 12), (15, 14), (30, 15), (60, 18)))
    assert found is not None
    assert found.slope is not None
    assert found.slope.per_hour == pytest.approx(5.8286, abs=1e-4)
    assert found.slope.within_per_hour == pytest.approx(1.7035, abs=1e-3)
    assert found.slope.clear
    assert (found.count, found.lowest, found.highest, found.gaps) == (4, 12, 18, 0)
    assert (found.first.told, found.last.told) == (12, 18)
    assert found.mean == pytest.approx((13 * 15 + 14.5 * 15 + 16.5 * 30) / 60)


def test_what_scatters_has_no_clear_slope() -> None:
    """A line through scatter tells nothing, however steep it is."""
    found = slope(readings((0, 12), (15, 20), (30, 11), (45, 19)))
    assert found is not None
    assert not found.clear


@pytest.mark.parametrize("told", [[(0, 12), (60, 18)], [(0, 12), (4, 13), (9, 14)]])
def test_too_little_for_a_slope(told: list[tuple[float, float]]) -> None:
    """Two readings, or less than a quarter of an hour, leave the slope without an interval."""
    found = slope(readings(*told))
    assert found is not None
    assert found.within_per_hour is None
    assert not found.clear


def test_one_moment_has_no_slope() -> None:
    """Readings of one moment have a range and nothing else."""
    found = trend(readings((5, 12), (5, 18)))
    assert found is not None
    assert found.slope is None
    assert found.mean is None
    assert trend([]) is None


def test_gaps_are_counted_and_left_out_of_the_mean() -> None:
    """What lies more than half an hour apart is not bridged."""
    found = trend(readings((0, 10), (10, 10), (60, 30), (70, 30), confirmed=False))
    assert found is not None
    assert (found.gaps, found.mean, found.unconfirmed) == (1, 20, 4)


@given(
    st.floats(-20, 20), st.floats(-50, 50), st.lists(st.integers(0, 600), min_size=3, unique=True)
)
def test_a_straight_line_has_its_own_slope(
    per_hour: float, start: float, minutes: list[int]
) -> None:
    """Readings on a line give that line, with next to no uncertainty."""
    found = slope(readings(*((m, start + per_hour * m / 60) for m in sorted(minutes))))
    assert found is not None
    assert found.per_hour == pytest.approx(per_hour, abs=1e-6)
    assert (found.within_per_hour or 0) < 1e-4


def test_what_can_be_converted_is() -> None:
    """Pressures come in the unit asked for, Fahrenheit in Celsius, kPa of a breath in mmHg."""
    told = entries((0, Pressure(value=15, unit="cmH2O")), (1, Pressure(value=11, unit="mmHg")))
    assert [r.told for r in series(told, "mmHg").readings] == pytest.approx([11.0334, 11], abs=1e-4)
    told = entries(
        (0, TemperatureFahrenheit(value_fahrenheit=98.6)), (1, Temperature(value_celsius=37))
    )
    assert [r.told for r in series(told, "mmHg").readings] == pytest.approx([37, 37])
    told = entries((0, EndTidalCo2Kpa(value_kpa=5)), (1, EndTidalCo2(value_mmhg=38)))
    assert [r.told for r in series(told, "mmHg").readings] == pytest.approx([37.503, 38], abs=1e-3)


def test_another_unit_is_left_out_and_counted() -> None:
    """What cannot be converted does not run into the trend; a dose is no measurement at all."""
    told = entries(
        (0, Laboratory(analyte="glucose", value=120, unit="mg/dL")),
        (1, DrugGiven(drug="glucose", dose=25, unit="g")),
        (2, Laboratory(analyte="glucose", value=7, unit="mmol/L")),
    )
    found = series(told, "mmHg")
    assert [reading.told for reading in found.readings] == [7]
    assert found.left_out == 1
    assert series((), "mmHg").readings == ()
