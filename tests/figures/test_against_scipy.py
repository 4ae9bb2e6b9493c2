"""The figures of a series against scipy, and against values that were published."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from tests.figures.conftest import START, at
from voice.figures.facts import Fact
from voice.figures.pressure import burden, burden_below, carried_forward, linear, mean, median
from voice.figures.trend import _T_95, slope

if TYPE_CHECKING:
    from voice.figures.pressure import Reading

Points = list[tuple[float, float]]
points = st.lists(
    st.tuples(st.integers(0, 240), st.integers(-10, 60)),
    min_size=2,
    max_size=10,
    unique_by=lambda p: p[0],
).map(sorted)


def series(told: Points) -> list[Reading]:
    """Readings by minute and value."""
    return [Fact(at(minute), value, number, True) for number, (minute, value) in enumerate(told, 1)]


def integral(told: Points, above: float | None = None) -> float:
    """The area under the readings, or that above a threshold, by adaptive quadrature."""
    minutes, values = zip(*told, strict=True)

    def height(minute: float) -> float:
        value = float(np.interp(minute, minutes, values))
        return value if above is None else max(value - above, 0.0)

    areas = [integrate.quad(height, *piece, epsabs=1e-3)[0] for piece in pairwise(minutes)]
    return float(sum(areas))


@settings(max_examples=30)
@given(points, st.integers(0, 40))
def test_mean_and_area_are_those_of_scipy(told: Points, threshold: int) -> None:
    """Mean, and area above and below a threshold, agree with adaptive quadrature."""
    stretches = linear(series(told), gap_s=1e9)
    length = told[-1][0] - told[0][0]
    assert mean(stretches) == pytest.approx(integral(told) / length, abs=1e-3)
    assert burden(stretches, threshold).dose == pytest.approx(integral(told, threshold), abs=0.02)
    turned = [(minute, -value) for minute, value in told]
    assert burden_below(stretches, threshold).dose == pytest.approx(
        integral(turned, -threshold), abs=0.02
    )


@settings(max_examples=50)
@given(points)
def test_half_of_the_time_is_on_each_side_of_the_median(told: Points) -> None:
    """No more than half of the time lies above the median, and no more than half below it."""
    stretches = linear(series(told), gap_s=1e9)
    half_min = (told[-1][0] - told[0][0]) / 2
    found = median(stretches)
    assert found is not None
    assert burden(stretches, found).minutes <= half_min + 1e-6
    assert burden_below(stretches, found).minutes <= half_min + 1e-6


def test_the_median_of_the_hand_worked_case() -> None:
    """14, 18, 26, 24, 20, 12 at 0, 10, 20, 30, 40, 60 min: 19.333, as on a fine grid.

    By hand: above 20 are 27.5 of 60 min, above 18 are 35; between the two the time above runs
    straight, so half of the time is reached at 18 + 2 x (35 - 30) / 7.5 = 19.333.
    """
    told: Points = [(0, 14), (10, 18), (20, 26), (30, 24), (40, 20), (60, 12)]
    found = median(linear(series(told)))
    assert found == pytest.approx(18 + 2 * (35 - 30) / 7.5)
    minutes, values = zip(*told, strict=True)
    grid = np.interp(np.linspace(0, 60, 60_001), minutes, values)
    assert found == pytest.approx(float(np.median(grid)), abs=1e-3)


def test_the_points_of_students_t_are_those_of_scipy() -> None:
    """Each 95 % point in the table is scipy's, to three decimals."""
    expected = stats.t.ppf(0.975, np.arange(1, len(_T_95) + 1))
    assert pytest.approx(expected, abs=5e-4) == _T_95


@settings(max_examples=50)
@given(points.filter(lambda told: len(told) > 2 and told[-1][0] - told[0][0] >= 15))
def test_slope_and_interval_are_those_of_scipy(told: Points) -> None:
    """Slope, and the half-width of its 95 % interval, agree with scipy's linear regression."""
    found = slope(series(told))
    hours, values = zip(*((minute / 60, value) for minute, value in told), strict=True)
    expected = stats.linregress(hours, values)
    assert found is not None
    assert found.per_hour == pytest.approx(expected.slope, abs=1e-7)
    half_width = stats.t.ppf(0.975, len(told) - 2) * expected.stderr
    assert found.within_per_hour == pytest.approx(half_width, rel=2e-3, abs=1e-6)


@settings(max_examples=30)
@given(points, st.integers(0, 40))
def test_held_until_the_next_is_a_staircase(told: Points, threshold: int) -> None:
    """With each reading held until the next, mean, time and area are those of numpy's staircase."""
    stretches = carried_forward(series(told), gap_s=1e9)
    minutes, values = (np.array(column, dtype=float) for column in zip(*told, strict=True))
    lengths, held = np.diff(minutes), values[:-1]
    assert mean(stretches) == pytest.approx(float(np.average(held, weights=lengths)), abs=1e-9)
    above = burden(stretches, threshold)
    assert above.minutes == pytest.approx(float(lengths[held > threshold].sum()))
    assert above.dose == pytest.approx(float((lengths * np.clip(held - threshold, 0, None)).sum()))


THEOPH: Points = [
    (0, 0.74), (0.25, 2.84), (0.57, 6.57), (1.12, 10.50), (2.02, 9.66), (3.82, 8.58), (5.10, 8.36),
    (7.03, 7.47), (9.05, 6.89), (12.12, 5.94), (24.37, 3.28),
]  # fmt: skip
"""The first of the twelve courses in "Theoph", a data set that comes with the language R."""


def test_the_area_is_the_published_one() -> None:
    """The area is the 148.92305 that the documentation of R's package NonCompart gives for it.

    Its unit of time is the hour; here it stands for the minute.
    """
    stretches = linear(series(THEOPH))
    assert burden(stretches, 0).dose == pytest.approx(148.92305, abs=5e-6)
    assert mean(stretches) == pytest.approx(148.92305 / 24.37, rel=1e-7)


NORRIS = """
0.2 0.1 337.4 338.8 118.2 118.1 884.6 888.0 10.1 9.2 226.5 228.1 666.3 668.5 996.3 998.5 448.6 449.1
777.0 778.9 558.2 559.2 0.4 0.3 0.6 0.1 775.5 778.1 666.9 668.8 338.0 339.3 447.5 448.9 11.6 10.8
556.0 557.7 228.1 228.3 995.8 998.0 887.6 888.8 120.2 119.6 0.3 0.3 0.3 0.6 556.8 557.6 339.1 339.3
887.2 888.0 999.0 998.5 779.0 778.9 11.1 10.2 118.3 117.6 229.2 228.9 669.1 668.4 448.9 449.2 0.5 0.2
"""
"""36 pairs x, y: NIST Statistical Reference Datasets, linear regression, "Norris"."""


def test_the_slope_is_the_certified_one() -> None:
    """Slope and its standard error are those that NIST certifies for its data set "Norris"."""
    numbers = [float(word) for word in NORRIS.split()]
    pairs = sorted(zip(numbers[::2], numbers[1::2], strict=True))
    readings = [Fact(START + timedelta(hours=x), y, n, True) for n, (x, y) in enumerate(pairs)]
    found = slope(readings)
    assert found is not None
    assert found.within_per_hour is not None
    assert found.per_hour == pytest.approx(1.00211681802045, rel=1e-9)
    assert found.within_per_hour / _T_95[-1] == pytest.approx(0.000429796848199937, rel=1e-6)
