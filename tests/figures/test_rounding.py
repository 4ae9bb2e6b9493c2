from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice.figures.rounding import beside


@pytest.mark.parametrize(
    ("value", "digits", "limits", "written"),
    [
        (59.67, 0, [60.0], 59.7),
        (59.97, 0, [60.0], 59.97),
        (59.67, 0, [], 60.0),
        (60.4, 0, [60.0], 60.4),
        (60.6, 0, [60.0], 61.0),
        (60.0000000001, 0, [60.0], 60.0),
        (20.3, 0, [25.0, 20.0], 20.3),
    ],
)
def test_cases_worked_by_hand(
    value: float, digits: int, limits: list[float], written: float
) -> None:
    """A figure has as few digits as keep it below, at or above each limit."""
    assert beside(value, digits, limits) == written


@given(
    st.integers(-10_000, 200_000).map(lambda thousandth: thousandth / 1000),
    st.lists(st.integers(0, 200).map(float), max_size=3),
    st.integers(0, 2),
)
def test_no_rounding_crosses_a_limit(value: float, limits: list[float], digits: int) -> None:
    """A figure of at most three decimals stands on the same side of every limit as it is written."""
    written = beside(value, digits, limits)
    for limit in limits:
        assert (written < limit, written > limit) == (value < limit, value > limit)
    assert abs(written - value) <= 0.5
