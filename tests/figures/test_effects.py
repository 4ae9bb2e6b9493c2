from __future__ import annotations

import pytest

from tests.figures.conftest import at
from voice.figures.effects import WINDOW_S, effects
from voice.figures.facts import Fact

SERIES = [
    Fact(at(minute), value, number, True)
    for number, (minute, value) in enumerate(
        [(0, 18.0), (20, 24.0), (30, 21.0), (40, 17.0), (45, 17.0), (90, 12.0)], 1
    )
]


def done(*minutes: float) -> list[Fact[str]]:
    """Something done at each of these minutes."""
    return [Fact(at(minute), "done", 100 + n, True) for n, minute in enumerate(minutes)]


def test_the_case_worked_by_hand() -> None:
    """Done at 22 min: 24 before, lowest 17 after 18 min, 12 at the end, so it held."""
    (found,) = effects(done(22), SERIES)
    assert found.before is not None
    assert found.lowest is not None
    assert found.at_end is not None
    assert (found.before.told, found.lowest.told, found.at_end.told) == (24, 17, 12)
    assert found.minutes_to_lowest == pytest.approx(18)
    assert found.held
    assert found.others == 0


def test_a_reading_at_the_same_time_is_before() -> None:
    """What was read as it was done is no effect of it."""
    (found,) = effects(done(20), SERIES)
    assert found.before is not None
    assert found.before.told == 24


def test_only_readings_within_the_window_belong_to_it() -> None:
    """Readings further off than the window are neither before nor after."""
    window_min = WINDOW_S / 60
    (early, late) = effects(done(45 + window_min + 1, 91), SERIES)
    assert early.before is None
    assert early.lowest is not None
    assert early.held is None
    assert (late.before is not None, late.lowest, late.at_end) == (True, None, None)
    assert late.minutes_to_lowest is None


def test_it_did_not_hold() -> None:
    """Where the last pressure is no lower than that before, it did not hold."""
    (found,) = effects(done(2), SERIES[:3])
    assert found.held is None, "the lowest is the last"
    (found,) = effects(done(25), [*SERIES[:5], Fact(at(90), 25.0, 6, True)])
    assert found.held is False


def test_others_in_between_are_counted() -> None:
    """Each other thing done from the reading before to the lowest after is counted."""
    assert [one.others for one in effects(done(22, 35, 60), SERIES)] == [1, 0, 0]
