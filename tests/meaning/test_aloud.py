from __future__ import annotations

import pytest

from voice.meaning.aloud import UNITS, aloud


@pytest.mark.parametrize(
    ("written", "spoken"),
    [
        ("above the ordered limit of 22", "above the ordered limit of two two"),
        ("13.2 mmHg", "one three point two millimetres of mercury"),
        ("10 mL, then -5 cmH2O", "one zero mils, then minus five centimetres of water"),
        ("CSF cloudy for 15 min", "C S F cloudy for one five minutes"),
        ("between 9 and 10.", "between nine and one zero."),
        ("cmH2O", "centimetres of water"),
        ("minor mLs", "minor mLs"),
        ("", ""),
    ],
)
def test_numbers_are_spoken_digit_by_digit(written: str, spoken: str) -> None:
    """Numbers are told by their digits and units by their names; all else stays as it is."""
    assert aloud(written) == spoken


@pytest.mark.parametrize("unit", UNITS)
def test_nothing_written_short_is_left(unit: str) -> None:
    """No figure and no short form is left for a voice to guess at."""
    spoken = aloud(f"at 14.5 {unit}")
    assert not any(c.isdigit() for c in spoken)
    assert unit not in spoken.split()
