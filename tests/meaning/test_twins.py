"""Twins: teens against tens, and one value told in words for another."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from voice.entries.kinds.drain import DrainClamped, Drained, Pressure
from voice.entries.kinds.drugs import DrugGiven, InfusionStarted
from voice.entries.kinds.laboratory import Laboratory
from voice.entries.kinds.leg import LegMark
from voice.entries.kinds.neuro import Pupil, Pupils
from voice.entries.kinds.vitals import BloodPressure
from voice.entries.said import ClockTime, Command, Correction, MinutesAgo, Statement, Talk
from voice.meaning.twins import same_kind, twin_meanings, twin_words, twins

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

PAIRS = [(n, (n - 10) * 10) for n in range(13, 20)]


@pytest.mark.parametrize(("teen", "ten"), PAIRS)
def test_each_teen_is_the_twin_of_its_ten(teen: int, ten: int) -> None:
    """Thirteen to nineteen and thirty to ninety are twins, either way round."""
    assert twins(teen, ten)
    assert twins(ten, teen)


@pytest.mark.parametrize(("teen", "ten"), PAIRS)
@pytest.mark.parametrize("hundreds", [100, 200, 900, 1000])
def test_twins_are_found_inside_hundreds(teen: int, ten: int, hundreds: int) -> None:
    """A hundred and a teen is the twin of a hundred and its ten."""
    assert twins(hundreds + teen, hundreds + ten)


@pytest.mark.parametrize(
    ("one", "other"), [(13.5, 30.5), (-15, -50), (15.0, 50), (1913, 1930), (14.25, 40.25)]
)
def test_twins_are_found_beside_signs_and_decimals(one: float, other: float) -> None:
    """What stands before or after the teen does not hide the twin."""
    assert twins(one, other)
    assert twins(other, one)


@given(st.integers(-20, 999), st.integers(-20, 999))
def test_twins_are_those_whose_words_differ_in_the_ending(one: int, other: int) -> None:
    """Two whole numbers are twins exactly when num2words differs only in "teen" against "ty"."""
    a, b = num2words(one).split(), num2words(other).split()
    changed = [(x, y) for x, y in zip(a, b, strict=False) if x != y]
    stems = {(num2words(teen), num2words(ten)) for teen, ten in PAIRS}
    expected = (
        len(a) == len(b)
        and bool(changed)
        and (set(changed) <= stems or {(y, x) for x, y in changed} <= stems)
    )
    assert twins(one, other) == expected


def said(value: float, when: MinutesAgo | ClockTime | None = None) -> Statement:
    """A pressure."""
    return Statement(entry=Pressure(value=value, unit="mmHg"), when=when)


def test_meanings_that_differ_in_one_twin_are_twins() -> None:
    """Two entries of one kind are twins when every value that differs is a twin."""
    assert twin_meanings(said(15), said(50))
    assert twin_meanings(Correction(statement=said(15)), Correction(statement=said(50)))
    assert twin_meanings(
        Statement(entry=BloodPressure(systolic_mmhg=113, diastolic_mmhg=60)),
        Statement(entry=BloodPressure(systolic_mmhg=130, diastolic_mmhg=60)),
    )
    assert twin_meanings(said(9, MinutesAgo(minutes=15)), said(9, MinutesAgo(minutes=50)))


def dose(drug: str, amount: float, unit: str = "mg") -> Statement:
    """A dose."""
    return Statement(entry=DrugGiven.model_validate({"drug": drug, "dose": amount, "unit": unit}))


def test_one_drug_for_another_is_asked_about_like_a_twin() -> None:
    """Two drugs with the same dose, or with its twin, are twins; with another dose they are not."""
    assert twin_meanings(dose("pentobarbital", 50), dose("phenobarbital", 50))
    assert twin_meanings(dose("pentobarbital", 15), dose("phenobarbital", 50))
    assert twin_meanings(dose("fentanyl", 50, "mcg"), dose("ketamine", 50))
    assert not twin_meanings(dose("pentobarbital", 50), dose("phenobarbital", 60))
    assert not twin_meanings(dose("pentobarbital", 50), dose("pentobarbital", 50))


def test_one_unit_of_a_drug_for_another_is_asked_about_like_a_twin() -> None:
    """Milligrams for micrograms of one dose or rate are twins; of another dose they are not."""
    assert twin_meanings(dose("adrenaline", 50, "mcg"), dose("adrenaline", 50))
    assert twin_meanings(dose("adrenaline", 15, "mcg"), dose("adrenaline", 50))
    assert not twin_meanings(dose("adrenaline", 50, "mcg"), dose("adrenaline", 60))
    slow, fast = (
        Statement(entry=InfusionStarted(drug="amiodarone", rate=1, unit=unit))
        for unit in ("mg/h", "mg/min")
    )
    assert twin_meanings(slow, fast)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (Pupils(size_mm=4, reaction="reactive"), Pupils(size_mm=4, reaction="fixed")),
        (Pupils(equal=True, reaction="brisk"), Pupils(equal=False, reaction="fixed")),
        (Pupil(side="left", size_mm=3), Pupil(side="right", size_mm=3)),
        (LegMark(mark="loaded"), LegMark(mark="unloaded")),
        (DrainClamped(reason="loading"), DrainClamped(reason="reading")),
    ],
)
def test_one_word_for_another_is_asked_about_like_a_twin(one: Entry, other: Entry) -> None:
    """Two values told in words are twins, where nothing else differs that is no twin."""
    assert twin_meanings(Statement(entry=one), Statement(entry=other))
    assert twin_meanings(Statement(entry=other), Statement(entry=one))


def test_another_size_beside_another_reaction_is_no_twin() -> None:
    """Where a number differs that no teen or ten explains, the two are no twins."""
    four = Pupils(size_mm=4, reaction="reactive")
    five = Pupils(size_mm=5, reaction="fixed")
    assert not twin_meanings(Statement(entry=four), Statement(entry=five))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (said(15), said(15)),
        (said(15), said(16)),
        (said(15), Correction(statement=said(50))),
        (said(15), Statement(entry=Drained(volume_ml=50))),
        (said(15), said(50, MinutesAgo(minutes=5))),
        (said(15, MinutesAgo(minutes=5)), said(50, ClockTime(hour=5, minute=5))),
        (said(15), Command(talk=Talk.CONFIRM)),
        (
            Statement(entry=BloodPressure(systolic_mmhg=113, diastolic_mmhg=60)),
            Statement(entry=BloodPressure(systolic_mmhg=130, diastolic_mmhg=61)),
        ),
        (
            Statement(entry=Pupils(size_mm=3)),
            Statement(entry=Pupils(size_mm=3, equal=True)),
        ),
    ],
)
def test_other_differences_are_no_twins(
    one: Statement, other: Statement | Correction | Command
) -> None:
    """Equal meanings, other values, other kinds and other times are no twins."""
    assert not twin_meanings(one, other)
    assert not twin_meanings(other, one)


def test_an_unsaid_unit_hides_no_twin() -> None:
    """Twins stay twins where each is in its own unit, which only the number decides over."""
    low, high = Laboratory(analyte="glucose", value=40), Laboratory(analyte="glucose", value=14)
    assert (low.unit, high.unit) == ("mg/dL", "mmol/L")
    assert twin_meanings(Statement(entry=low), Statement(entry=high))
    assert not twin_meanings(said(14), Statement(entry=Pressure(value=14, unit="cmH2O")))


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [
        ("glucose thirteen", "glucose thirty", True),
        ("glucose one thirty", "glucose one thirteen", True),
        ("glucose thirteen", "glucose thirteen", False),
        ("glucose thirteen", "glucose forty", False),
        ("glucose thirteen", "lactate thirty", False),
        ("glucose thirteen", "glucose thirty one", False),
    ],
)
def test_words_are_twins_by_their_endings(one: str, other: str, alike: bool) -> None:
    """Words are twins where they differ only in teens for tens, whatever they mean."""
    assert twin_words(one, other) is alike
    assert twin_words(other, one) is alike


def test_same_kind_looks_through_corrections_but_not_across() -> None:
    """A correction is of the same kind only as a correction of that kind."""
    assert same_kind(said(15), said(16))
    assert same_kind(Correction(statement=said(15)), Correction(statement=said(16)))
    assert not same_kind(said(15), Correction(statement=said(16)))
    assert not same_kind(said(15), Statement(entry=Pupils(size_mm=3)))
    assert not same_kind(Command(talk=Talk.CONFIRM), Command(talk=Talk.CONFIRM))
