from __future__ import annotations

from tests.figures.conftest import at, entries
from voice.entries.kinds.leg import LegMark
from voice.figures.departure import departure


def test_departed_goes_before_wheels_up() -> None:
    """The first "departed" counts, also where wheels went up before it was told."""
    wheels, departed = LegMark(mark="wheels up"), LegMark(mark="departed")
    found = departure(entries((3, wheels), (5, departed), (9, departed)))
    assert found is not None
    assert found.at == at(5)
    found = departure(entries((1, LegMark(mark="loaded")), (3, wheels)))
    assert found is not None
    assert found.at == at(3)
    assert departure(entries((1, LegMark(mark="loaded")))) is None
