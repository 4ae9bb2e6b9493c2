"""Figures are told with and without what was never confirmed; last doses with their day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.report.sections.told import telling
from voice.entries.kinds.drain import DrainClamped, Drained, DrainOpened
from voice.entries.kinds.drugs import DrugGiven, InfusionStarted, InfusionStopped, LastDose, Weight
from voice.entries.kinds.fluids import FluidIn, UrineOut
from voice.entries.leg import LegSettings
from voice.report.sections.drain import clamped
from voice.report.sections.drugs import drug_sums
from voice.report.sections.fluids import balance

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

FENTANYL = DrugGiven(drug="fentanyl", dose=50, unit="mcg")
SALINE = FluidIn(fluid="normal saline", volume_ml=250)


def test_doses_are_told_both_ways() -> None:
    """Three doses of 50 mcg, one unconfirmed, in 80 kg: 150 in all, and 100 without it."""
    told = telling(
        (0, Weight(value=80, unit="kg")), (1, FENTANYL), (2, FENTANYL), (3, FENTANYL), unsure=(3,)
    )
    assert drug_sums(told)[-1] == (
        "Fentanyl in all: 3 doses, 150 mcg, 1.9 mcg/kg; last dose 14:03; unconfirmed entries 1, "
        "without them 2 doses, 100 mcg, 1.2 mcg/kg."
    )


def test_nothing_is_left_where_all_is_in_doubt() -> None:
    """An infusion that was never confirmed counts, and without it nothing was given."""
    run = InfusionStarted(drug="nicardipine", rate=6, unit="mg/h")
    assert drug_sums(telling((0, run), unsure=(1,)))[-1] == (
        "Nicardipine in all: ran in 6 mg; unconfirmed entries 1, without them nothing."
    )


def test_an_unconfirmed_weight_is_not_taken_for_what_is_sure() -> None:
    """Without the weight, which is in doubt, what ran in by weight is not worked out."""
    told = telling(
        (0, Weight(value=80, unit="kg")), (1, FENTANYL), (2, FENTANYL), (3, FENTANYL), unsure=(1, 4)
    )
    assert drug_sums(told)[-1].endswith("unconfirmed entries 2, without them 2 doses, 100 mcg.")


def test_a_weight_alone_in_doubt_puts_in_doubt_what_goes_by_it() -> None:
    """50 mcg/kg/min for 30 min in 80 kg, a weight that nobody confirmed, are 120 mg only with it."""
    run = InfusionStarted(drug="propofol", rate=50, unit="mcg/kg/min")
    told: list[tuple[float, Entry]] = [(0, run), (30, InfusionStopped(drug="propofol"))]
    assert drug_sums(telling(*told, (0, Weight(value=80, unit="kg")), unsure=(3,)))[-1] == (
        "Propofol in all: ran in 120 mg; unconfirmed entries 1, without them what ran in by weight is "
        "not worked out: no weight told."
    )
    flat = InfusionStarted(drug="nicardipine", rate=6, unit="mg/h")
    weight: tuple[float, Entry] = (0, Weight(value=80, unit="kg"))
    assert drug_sums(telling((0, flat), weight, unsure=(2,)))[-1] == (
        "Nicardipine in all: ran in 6 mg."
    )


def test_what_was_given_in_all_has_the_single_dose_too() -> None:
    """A dose of 50 mg and 100 mg/h for 30 min are both in the sum; one dose alone needs none."""
    dose = DrugGiven(drug="propofol", dose=50, unit="mg")
    run = InfusionStarted(drug="propofol", rate=100, unit="mg/h")
    stop = InfusionStopped(drug="propofol")
    assert drug_sums(telling((0, dose), (0, run), (30, stop))) == [
        "Propofol in all: 1 dose, 50 mg; ran in 50 mg; last dose 14:00."
    ]
    two_units = telling((0, FENTANYL), (1, DrugGiven(drug="fentanyl", dose=0.1, unit="mg")))
    assert drug_sums(two_units) == [
        "Fentanyl in all: 1 dose, 50 mcg; 1 dose, 0.1 mg; last dose 14:01."
    ]
    assert drug_sums(telling((0, FENTANYL))) == []
    assert drug_sums(telling((0, stop))) == []


def test_the_balance_is_told_both_ways() -> None:
    """In 500, out 400 of urine and 10 of CSF; without one bag and the CSF 250 less 400."""
    told = telling(
        (1, SALINE), (2, SALINE), (3, UrineOut(volume_ml=400)), (4, Drained(volume_ml=10)), unsure=(2, 4)
    )  # fmt: skip
    assert balance(told)[-2:] == [
        "Balance plus 90 mL.",
        "Unconfirmed entries behind it: 2. Without them: in 250 mL, out 400 mL, balance minus 150 mL.",
    ]
    assert balance(telling((1, SALINE)))[-1] == "Balance plus 250 mL."


def test_what_was_not_told_is_no_nought_in_the_balance() -> None:
    """Where no output, no urine or nothing given was told, that is said in place of 0 mL."""
    assert balance(telling((1, UrineOut(volume_ml=400)))) == [
        "In: nothing told by its volume.",
        "Out 400 mL: urine 400 mL, CSF not told.",
        "Balance minus 400 mL.",
    ]
    assert balance(telling((1, SALINE)))[1] == "Out: nothing told."
    assert balance(telling((1, SALINE), (2, Drained(volume_ml=0))))[1] == (
        "Out 0 mL: urine not told, CSF 0 mL."
    )


def test_clamped_time_is_told_both_ways() -> None:
    """Clamped for 10 and for 6 min, the second time unconfirmed: 16 min in all, or 10."""
    told = telling(
        (0, DrainClamped()), (10, DrainOpened()), (20, DrainClamped()), (26, DrainOpened()),
        unsure=(3, 4),
    )  # fmt: skip
    assert clamped(told)[-2:] == [
        "Without unconfirmed entries: 10 min; 17% of the leg.",
        "In all 16 min, longest 10 min; 27% of the leg.",
    ]


def test_no_clamping_is_sure() -> None:
    """Where the only clamping was never confirmed, without it the drain was not closed at all."""
    told = telling((0, DrainClamped()), (10, DrainOpened()), unsure=(1,))
    assert clamped(told)[-2] == "Without unconfirmed entries: 0 min; 0% of the leg."


@pytest.mark.parametrize(
    ("until_min", "hour", "expected"),
    [
        (60, 13, "13:30"),
        (60, 15, "30 April 15:30"),
        (11 * 60, 13, "1 May 13:30"),
    ],
    ids=["one day", "the day before", "a leg over midnight"],
)
def test_a_last_dose_has_its_day_where_there_is_more_than_one(
    until_min: float, hour: int, expected: str
) -> None:
    """On a leg over midnight, or where it was the day before, the date stands with the time."""
    dose = LastDose(drug="cefazolin", hour=hour, minute=30)
    lines = drug_sums(telling((1, dose), until=until_min))
    assert lines == [f"Cefazolin, last dose before the leg {expected}."]


def test_the_day_goes_by_the_clock_of_the_leg() -> None:
    """By a clock nine hours ahead the leg begins at 23:00, and a dose at 22:30 was half an hour ago."""
    settings = LegSettings(utc_offset_min=9 * 60)
    dose = LastDose(drug="cefazolin", hour=22, minute=30)
    assert drug_sums(telling((1, dose), settings=settings, until=30)) == [
        "Cefazolin, last dose before the leg 22:30."
    ]
    assert drug_sums(telling((1, dose), settings=settings, until=90)) == [
        "Cefazolin, last dose before the leg 1 May 22:30."
    ]
