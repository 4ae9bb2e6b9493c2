from __future__ import annotations

from datetime import timedelta

import pytest

from tests.review.flight import START
from voice.entries.kinds.drain import Pressure
from voice.entries.kinds.vitals import HeartRate
from voice.entries.leg import EntryState, LegEntry
from voice.review.neighbours import Neighbours


def course(*values: float, state: EntryState = EntryState.CONFIRMED) -> list[LegEntry]:
    """Pressures, ten minutes apart."""
    return [
        LegEntry(
            number=number,
            entry=Pressure(value=value, unit="mmHg"),
            heard="",
            spoken_at=START + timedelta(minutes=10 * number),
            happened_at=START + timedelta(minutes=10 * number),
            state=state,
        )
        for number, value in enumerate(values, start=1)
    ]


@pytest.mark.parametrize(
    ("values", "far"),
    [
        ((14, 15, 40, 16, 15), [3]),
        ((41, 14, 15, 16, 15), [1]),
        ((14, 15, 16, 15, 50), [5]),
        ((14, 15, 16, 15, 14), []),
        ((14, 18, 22, 26, 30), []),
        ((14, 15, 30, 31, 30), []),
        ((14, 14, 14, 15, 14), []),
        ((14, 40), []),
        ((), []),
    ],
)
def test_a_value_far_from_its_neighbours_is_marked(
    values: tuple[float, ...], far: list[int]
) -> None:
    """A lone spike is marked, also as the first or the last; a rise, a step and small changes are not."""
    assert sorted(Neighbours().far(course(*values))) == far


def test_only_like_is_compared_with_like() -> None:
    """Other subjects, other units and what no longer counts are no neighbours."""
    entries = course(14, 15, 40, 16)
    other = [
        entries[2].model_copy(update={"entry": HeartRate(rate_per_min=40)}),
        entries[2].model_copy(update={"entry": Pressure(value=40, unit="cmH2O")}),
        entries[2].model_copy(update={"state": EntryState.WITHDRAWN}),
    ]
    for one in other:
        assert Neighbours().far([*entries[:2], one, *entries[3:]]) == {}
    (reason,) = Neighbours().far(entries).values()
    assert reason.words == "far from its neighbours, 15 mmHg and 16 mmHg"


def test_what_is_asked_again_is_as_if_asked_anew() -> None:
    """An entry that was corrected or withdrawn since is gone from among the neighbours."""
    entries = course(14, 15, 40, 16, 15)
    neighbours = Neighbours()
    assert sorted(neighbours.far(entries)) == [3]
    entries[2] = entries[2].model_copy(update={"state": EntryState.WITHDRAWN})
    assert neighbours.far(entries) == {}
    entries[1] = entries[1].model_copy(update={"entry": Pressure(value=51, unit="mmHg")})
    assert neighbours.far(entries) == Neighbours().far(entries)
    assert sorted(neighbours.far(entries)) == [2]
