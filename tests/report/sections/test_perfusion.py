"""What the summary says of the levels at which pressures are zeroed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.report.sections.told import telling
from voice.entries.kinds.drain import DrainLevelled, Pressure, ZeroFailed
from voice.entries.kinds.patient import HeadOfBed
from voice.entries.kinds.vitals import ArterialZeroed, MeanPressure
from voice.report.sections.perfusion import perfusion, perfusion_sums

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

READ: tuple[tuple[float, Entry], ...] = (
    (10, Pressure(value=14, unit="mmHg")),
    (11, MeanPressure(value_mmhg=82)),
)
AT_TRAGUS = DrainLevelled(reference="tragus")
AT_HEART = ArterialZeroed(reference="heart")
HIGH = "CPP reads too high by 0.74 mmHg for each cm from heart up to tragus"


@pytest.mark.parametrize(
    ("levels", "told"),
    [
        (
            (AT_TRAGUS,),
            "Where MAP was zeroed is not told: zeroed at the heart with the head up, CPP reads too high.",
        ),
        ((AT_HEART,), "MAP zeroed at the heart; to what the drain was levelled is not told."),
        ((AT_TRAGUS, ArterialZeroed(reference="tragus")), "MAP zeroed at the tragus, as ICP."),
        ((AT_TRAGUS, AT_HEART), f"MAP zeroed at the heart, ICP at the tragus: {HIGH}."),
        (
            (AT_TRAGUS, AT_HEART, HeadOfBed(angle_deg=30)),
            (
                f"MAP zeroed at the heart, ICP at the tragus: {HIGH}; head of bed 30 degrees: 3.7 mmHg for "
                "each 10 cm along the body."
            ),
        ),
        (
            (AT_TRAGUS, ArterialZeroed(reference="midbrow")),
            (
                "MAP zeroed at the midbrow, ICP at the tragus: CPP is off by 0.74 mmHg for each cm of "
                "height between the two."
            ),
        ),
    ],
)
def test_each_way_of_standing_is_told(levels: tuple[Entry, ...], told: str) -> None:
    """Unknown, alike or apart: what that does to the perfusion pressure stands right after it."""
    lines = perfusion_sums(telling(*((float(n), level) for n, level in enumerate(levels)), *READ))
    assert lines[:2] == ["Last 68 at 14:10 from MAP 82, ICP 14.", told]


def test_what_changed_on_the_way_is_told_with_how_many_values_it_touches() -> None:
    """Values from before and after a zero at another level are told apart by their number."""
    told = telling(
        (1, AT_TRAGUS),
        *READ,
        (20, ArterialZeroed(reference="tragus")),
        (21, Pressure(value=15, unit="mmHg")),
        (22, MeanPressure(value_mmhg=80)),
        (23, Pressure(value=15, unit="mmHg")),
    )
    ((_, before, after), *_) = [perfusion(told)[:3]]
    assert before.endswith("CPP reads too high (1 of 3 values).")
    assert after == "MAP zeroed at the tragus, as ICP (2 of 3 values)."


def test_values_after_a_failed_zero_are_told_apart() -> None:
    """CPP 70 stands; 40, from a pressure after a failed zero, is in the range and left out of the others alone."""
    told = telling(
        (0, MeanPressure(value_mmhg=80)),
        (1, Pressure(value=10, unit="mmHg")),
        (2, ZeroFailed()),
        (3, Pressure(value=40, unit="mmHg")),
    )
    assert "Range 40 to 70." in perfusion_sums(told)
    assert perfusion_sums(told)[-1] == (
        "Not to be relied on: 1 of 2 values. The others alone: Range 70 to 70."
    )
    alone = telling(
        (0, ZeroFailed()), (1, MeanPressure(value_mmhg=80)), (2, Pressure(value=40, unit="mmHg"))
    )
    assert perfusion_sums(alone)[-1] == "Not to be relied on: 1 of 1 values. There is no other."
