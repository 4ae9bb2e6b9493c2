from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.figures.conftest import at, entries
from voice.entries.kinds.drugs import (
    DrugGiven,
    InfusionChanged,
    InfusionStarted,
    InfusionStopped,
    Weight,
)
from voice.entries.leg import EntryState
from voice.figures.drugs import Doses, DrugFigures, drug_figures, runs, weight_kg

if TYPE_CHECKING:
    from voice.entries.kinds import Entry


def figures(*told: tuple[float, Entry], until: float = 60) -> DrugFigures:
    """The figures of the only drug, so many minutes into the leg."""
    (found,) = drug_figures(entries(*told), at(until))
    return found


def ran_in(found: DrugFigures) -> list[tuple[float, str]]:
    """What ran in, without the dust of binary fractions."""
    return [(round(amount.value, 6), amount.unit) for amount in found.ran_in]


def mannitol(dose: float) -> DrugGiven:
    """A dose in grams."""
    return DrugGiven(drug="mannitol", dose=dose, unit="g")


def test_doses_are_summed_by_unit() -> None:
    """Doses in one unit are added, doses in another stand beside them, and the last one is told."""
    found = figures(
        (5, mannitol(50)), (20, DrugGiven(drug="mannitol", dose=250, unit="mL")), (41, mannitol(25))
    )
    assert found.doses == (Doses(2, 75, "g"), Doses(1, 250, "mL"))
    assert found.last_dose_at == at(41)
    assert found.ran_in == ()
    assert found.running is None


def test_a_rate_is_taken_times_the_time_for_which_it_ran() -> None:
    """5 mg/h for 30 min and 7.5 mg/h for 20 min are 2.5 mg and 2.5 mg: 5 mg."""
    found = figures(
        (10, InfusionStarted(drug="nicardipine", rate=5, unit="mg/h")),
        (40, InfusionChanged(drug="nicardipine", rate=7.5, unit="mg/h")),
        (60, InfusionStopped(drug="nicardipine")),
        until=90,
    )
    assert ran_in(found) == [(5, "mg")]
    assert found.running is None
    assert found.last_dose_at is None


def test_a_rate_per_kilogram_is_taken_times_the_weight() -> None:
    """50 mcg/kg/min for 30 min in 80 kg are 120,000 mcg: 120 mg, whenever the weight was told."""
    run = (10, InfusionStarted(drug="propofol", rate=50, unit="mcg/kg/min"))
    told = entries(run, (35, Weight(value=80, unit="kg")))
    (found,) = drug_figures(told, at(40))
    assert ran_in(found) == [(120, "mg")]
    assert not found.without_weight
    assert found.running is not None
    assert (found.running.start_at, found.running.rate) == (at(10), 50)


def test_without_a_weight_what_ran_per_kilogram_is_not_worked_out() -> None:
    """What needs the weight is left out and said to be, and the rest counts."""
    found = figures(
        (0, InfusionStarted(drug="propofol", rate=50, unit="mcg/kg/min")),
        (30, InfusionChanged(drug="propofol", rate=20, unit="mL/h")),
    )
    assert found.without_weight
    assert ran_in(found) == [(10, "mL")]


def test_the_weight_is_the_last_that_was_told_in_kilograms() -> None:
    """180 lb are 81.65 kg (180 times 0.45359237), and a later weight takes its place."""
    first = (0, Weight(value=180, unit="lb"))
    assert weight_kg(entries(first)) == pytest.approx(81.6466, abs=1e-4)
    assert weight_kg(entries(first, (5, Weight(value=78, unit="kg")))) == 78
    assert weight_kg(()) is None


def test_every_unit_of_rates_gives_an_amount() -> None:
    """Per minute and per hour, by weight and not: 30 min of each in 70 kg."""
    kg = (0, Weight(value=70, unit="kg"))
    for unit, rate, expected in (
        ("mcg/kg/min", 10, (21, "mg")),
        ("mcg/kg/h", 1, (0.035, "mg")),
        ("mcg/min", 10, (0.3, "mg")),
        ("mcg/h", 50, (0.025, "mg")),
        ("mg/kg/h", 2, (70, "mg")),
        ("mg/min", 1, (30, "mg")),
        ("mg/h", 4, (2, "mg")),
        ("g/h", 2, (1000, "mg")),
        ("mL/h", 30, (15, "mL")),
        ("units/min", 0.04, (1.2, "units")),
        ("units/h", 3, (1.5, "units")),
        ("mmol/h", 10, (5, "mmol")),
    ):
        started = InfusionStarted.model_validate({"drug": "x", "rate": rate, "unit": unit})
        found = figures(kg, (10, started), until=40)
        assert ran_in(found) == [expected], unit


def test_a_rate_that_is_told_again_starts_no_second_infusion() -> None:
    """A rate takes the place of the one before, and stopping what does not run changes nothing."""
    told = entries(
        (0, InfusionStopped(drug="fentanyl")),
        (5, InfusionChanged(drug="fentanyl", rate=50, unit="mcg/h")),
        (10, InfusionStarted(drug="fentanyl", rate=75, unit="mcg/h")),
        (20, InfusionStopped(drug="fentanyl")),
        (25, InfusionStopped(drug="fentanyl")),
    )
    found = [(run.start_at, run.end_at, run.rate) for run in runs(told, "fentanyl")]
    assert found == [(at(5), at(10), 50), (at(10), at(20), 75)]


def test_drugs_are_told_apart_in_the_order_of_their_first_entry() -> None:
    """What is given of one drug does not count for another."""
    told = entries(
        (9, mannitol(50)), (3, DrugGiven(drug="fentanyl", dose=50, unit="mcg")), (12, mannitol(25))
    )
    found = drug_figures(told, at(60))
    assert [one.drug for one in found] == ["fentanyl", "mannitol"]
    assert found[1].doses == (Doses(2, 75, "g"),)


def test_unconfirmed_entries_count_and_are_counted() -> None:
    """What was never confirmed aloud is in the sum, and how many there are is told."""
    sure = entries((5, mannitol(50)))
    (doubtful,) = entries((9, mannitol(25)), state=EntryState.UNCONFIRMED)
    told = (*sure, doubtful.model_copy(update={"number": 2}))
    (found,) = drug_figures(told, at(60))
    assert found.doses == (Doses(2, 75, "g"),)
    assert found.unconfirmed == 1


@given(
    st.lists(st.tuples(st.integers(0, 59), st.one_of(st.none(), st.integers(1, 100))), max_size=10)
)
def test_the_runs_fill_the_time_without_overlap(told: list[tuple[int, int | None]]) -> None:
    """Minute by minute, what ran in is the sum of the rate that held in each minute."""
    ordered = sorted(told, key=lambda one: one[0])
    made: list[tuple[float, Entry]] = [
        (
            minute,
            InfusionStopped(drug="x")
            if rate is None
            else InfusionStarted(drug="x", rate=rate, unit="mg/min"),
        )
        for minute, rate in ordered
    ]
    by_hand = 0.0
    for minute in range(60):
        held = [rate for start, rate in ordered if start <= minute]
        by_hand += (held[-1] or 0) if held else 0
    found = drug_figures(entries(*made), at(60))
    assert sum(amount.value for one in found for amount in one.ran_in) == pytest.approx(by_hand)
