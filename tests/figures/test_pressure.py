from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.figures.conftest import at, entries
from voice.entries.kinds.drain import Pressure
from voice.entries.kinds.vitals import HeartRate
from voice.entries.leg import EntryState
from voice.figures.facts import Fact
from voice.figures.pressure import (
    GAP_S,
    Reading,
    burden,
    carried_forward,
    linear,
    mean,
    pressure_figures,
    readings,
)

Points = list[tuple[float, float]]

BY_HAND: Points = [(0, 14), (10, 18), (20, 26), (30, 24), (40, 20), (60, 12)]
"""Minutes and mmHg of a case that was worked out by hand."""


def series(points: Points) -> list[Reading]:
    """Readings at these minutes."""
    return [Fact(at(minute), value, number, True) for number, (minute, value) in enumerate(points)]


def test_the_hand_worked_case_linear() -> None:
    """Mean 19.5; 27.5 min and 92.5 mmHg·min above 20; 20 min and 45 mmHg·min above 22."""
    stretches = linear(series(BY_HAND))
    assert mean(stretches) == pytest.approx(19.5)
    assert burden(stretches, 20) == pytest.approx((27.5, 92.5))
    assert burden(stretches, 22) == pytest.approx((20, 45))


def test_the_hand_worked_case_carried_forward() -> None:
    """Mean 20.333; 100 mmHg·min above 20 and 60 above 22 where each reading holds on."""
    stretches = carried_forward(series(BY_HAND))
    assert mean(stretches) == pytest.approx(20 + 1 / 3)
    assert burden(stretches, 20) == pytest.approx((20, 100))
    assert burden(stretches, 22) == pytest.approx((20, 60))


points = st.lists(
    st.tuples(st.integers(0, 240), st.integers(-10, 100)),
    min_size=2,
    max_size=12,
    unique_by=lambda p: p[0],
).map(sorted)


@given(points)
def test_the_mean_agrees_with_numpy(told: Points) -> None:
    """The time-weighted mean is numpy's trapezoidal integral over the time."""
    minutes, values = zip(*told, strict=True)
    expected = np.trapezoid(values, minutes) / (minutes[-1] - minutes[0])
    assert mean(linear(series(told), gap_s=1e9)) == pytest.approx(expected)


@given(points, st.integers(0, 40))
def test_the_burden_agrees_with_a_fine_grid(told: Points, threshold: int) -> None:
    """Time and area above a threshold are those of a fine numerical integral."""
    minutes, values = zip(*told, strict=True)
    grid = np.linspace(minutes[0], minutes[-1], 20_001)
    over = np.interp(grid, minutes, values) - threshold
    step = grid[1] - grid[0]
    found = burden(linear(series(told), gap_s=1e9), threshold)
    assert found.dose == pytest.approx(np.trapezoid(np.maximum(over, 0), grid), rel=1e-3, abs=0.05)
    crossings = 2 * len(told) * step
    # Where the pressure runs along the threshold itself it is not above it.
    assert found.minutes <= np.sum(over >= 0) * step + crossings
    assert found.minutes >= np.sum(over > 0) * step - crossings


@given(points)
def test_mean_and_burden_stay_in_bounds(told: Points) -> None:
    """The mean lies within the range, and no more time is above a threshold than is covered."""
    figures = pressure_figures(series(told))
    assert figures is not None
    if figures.mean is not None:
        low, high = figures.lowest.told, figures.highest.told
        assert low - 1e-9 <= figures.mean <= high + 1e-9
    above = burden(linear(series(told)), 20)
    assert 0 <= above.minutes <= figures.covered_min + 1e-9
    assert above.dose >= 0


def test_a_long_gap_is_not_bridged() -> None:
    """Over more than the gap no time is covered, over exactly the gap it is."""
    gap_min = GAP_S / 60
    figures = pressure_figures(series([(0, 10), (gap_min, 20), (2 * gap_min + 1, 90)]))
    assert figures is not None
    assert figures.mean == pytest.approx(15)
    assert figures.covered_min == pytest.approx(gap_min)
    assert [(a.told, b.told) for a, b in figures.gaps] == [(20, 90)]


def test_one_reading_has_no_mean() -> None:
    """A single reading gives last and range and no mean; none gives no figures."""
    figures = pressure_figures(series([(5, 17)]))
    assert figures is not None
    assert (figures.last.told, figures.lowest.told, figures.highest.told) == (17, 17, 17)
    assert figures.mean is None
    assert pressure_figures([]) is None


def test_only_what_counts_is_taken() -> None:
    """Corrected and withdrawn pressures are left out, unconfirmed ones are counted and told."""
    told = [
        *entries((0, Pressure(value=14, unit="mmHg")), (1, HeartRate(rate_per_min=80))),
        *entries((5, Pressure(value=50, unit="mmHg")), state=EntryState.CORRECTED),
        *entries((6, Pressure(value=60, unit="mmHg")), state=EntryState.WITHDRAWN),
        *entries((9, Pressure(value=15, unit="mmHg")), state=EntryState.UNCONFIRMED),
    ]
    figures = pressure_figures(readings(told, "mmHg"))
    assert figures is not None
    assert (figures.count, figures.unconfirmed) == (2, 1)
    assert (figures.lowest.told, figures.highest.told) == (14, 15)


def test_units_are_brought_together() -> None:
    """A pressure said in the other unit stands in the series in the one asked for."""
    told = entries((0, Pressure(value=15, unit="cmH2O")), (5, Pressure(value=14, unit="mmHg")))
    assert [r.told for r in readings(told, "mmHg")] == pytest.approx([11.0334, 14], abs=1e-4)
    assert readings(told, "cmH2O")[0].told == 15


def test_time_decides_not_the_order_of_speaking() -> None:
    """A reading told late stands where it happened."""
    told = entries((20, Pressure(value=20, unit="mmHg")), (5, Pressure(value=10, unit="mmHg")))
    figures = pressure_figures(readings(told, "mmHg"))
    assert figures is not None
    assert figures.last.told == 20
    assert figures.covered_min == pytest.approx(15)
