from __future__ import annotations

from datetime import UTC

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.figures.conftest import START, at, entries
from voice.entries.kinds.drain import Drained, Flushed
from voice.entries.kinds.drugs import DrugGiven
from voice.entries.kinds.fluids import BloodGiven, FluidIn, UrineOut
from voice.entries.leg import EntryState
from voice.figures.fluids import FluidBalance, fluid_balance

SALINE = FluidIn(fluid="normal saline", volume_ml=500)
HYPERTONIC = DrugGiven(drug="hypertonic saline", dose=250, unit="mL")


def test_a_balance_by_hand() -> None:
    """In 500 + 250 + 250, out 120 + 80 of urine and 12 of CSF: 1000 less 212 is 788."""
    told = entries(
        (1, UrineOut(volume_ml=120)),
        (2, HYPERTONIC),
        (3, SALINE),
        (4, Drained(volume_ml=12)),
        (5, FluidIn(fluid="normal saline", volume_ml=250)),
        (6, UrineOut(volume_ml=80)),
    )
    found = fluid_balance(told, START, UTC)
    assert found.given_ml == (("hypertonic saline", 250), ("normal saline", 750))
    assert (found.in_ml, found.urine_ml, found.csf_ml) == (1000, 200, 12)
    assert (found.out_ml, found.net_ml) == (212, 788)


def test_what_has_no_volume_of_its_own_is_not_counted() -> None:
    """Doses by weight and blood by the unit add nothing; the units are told."""
    told = entries(
        (1, DrugGiven(drug="mannitol", dose=50, unit="g")),
        (2, BloodGiven(product="red cells", count=2)),
        (3, BloodGiven(product="plasma", count=1)),
        (4, BloodGiven(product="red cells", count=1)),
    )
    found = fluid_balance(told, START, UTC)
    assert (found.in_ml, found.out_ml, found.net_ml) == (0, 0, 0)
    assert found.units == (("red cells", 3), ("plasma", 1))


def test_a_flush_is_neither_in_nor_out() -> None:
    """What was flushed into the drain comes off what drained, and goes into no patient."""
    told = entries((1, Flushed(volume_ml=10)), (2, Drained(volume_ml=25)))
    found = fluid_balance(told, START, UTC)
    assert (found.in_ml, found.csf_ml) == (0, 15)


def test_unconfirmed_entries_are_counted_as_such() -> None:
    """Whatever stands behind the balance and was never confirmed is told."""
    told = entries(
        (1, SALINE),
        (2, UrineOut(volume_ml=50)),
        (3, HYPERTONIC),
        (4, Drained(volume_ml=5)),
        (5, BloodGiven(product="plasma", count=1)),
        state=EntryState.UNCONFIRMED,
    )
    assert fluid_balance(told, START, UTC).unconfirmed == 5
    assert fluid_balance(entries((1, SALINE)), START, UTC).unconfirmed == 0


def test_corrected_entries_are_left_out() -> None:
    """What was corrected or withdrawn does not count."""
    told = entries((1, SALINE), (2, UrineOut(volume_ml=50)), state=EntryState.CORRECTED)
    nothing = FluidBalance(given_ml=(), urine_ml=None, csf_ml=None, units=(), unconfirmed=0)
    assert fluid_balance(told, START, UTC) == nothing


@given(st.lists(st.tuples(st.booleans(), st.integers(1, 500)), max_size=12))
def test_every_millilitre_is_on_one_side(told: list[tuple[bool, int]]) -> None:
    """The balance is the sum of all that went in less the sum of all that came out."""
    made = [
        (
            float(minute),
            FluidIn(fluid="albumin", volume_ml=ml) if goes_in else UrineOut(volume_ml=ml),
        )
        for minute, (goes_in, ml) in enumerate(told)
    ]
    found = fluid_balance(entries(*made), at(0), UTC)
    assert found.net_ml == pytest.approx(sum(ml if goes_in else -ml for goes_in, ml in told))
