"""Figures are told with and without what was never confirmed; last doses with their day."""

from __future__ import annotations

import pytest

from tests.report.sections.told import telling
from voice.entries.kinds.drain import DrainClamped, Drained, DrainOpened
from voice.entries.kinds.drugs import DrugGiven, InfusionStarted, LastDose, Weight
from voice.entries.kinds.fluids import FluidIn, UrineOut
from voice.entries.leg import LegSettings
from voice.report.sections.drain import clamped
from voice.report.sections.drugs import drug_sums
from voice.report.sections.fluids import balance

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
    assert drug_sums(told)[-1].endswith("without them 2 doses, 100 mcg.")


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
