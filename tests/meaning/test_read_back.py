"""What is spoken back is what was meant."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from voice.entries.kinds import Entry
from voice.entries.kinds.checks import CheckAnswer
from voice.entries.kinds.drain import DrainClamped, DrainLevel, Pressure
from voice.entries.kinds.drugs import DrugGiven
from voice.entries.kinds.leg import SpokenNote
from voice.entries.kinds.neuro import Pupils
from voice.entries.kinds.vitals import EndTidalCo2, Saturation, Temperature
from voice.entries.leg import LegSettings
from voice.entries.said import (
    Choice,
    ClockTime,
    Command,
    Correction,
    Meaning,
    MinutesAgo,
    Statement,
    Talk,
)
from voice.meaning.grammar import GrammarError, load_grammar, normalise
from voice.meaning.listening import Listening
from voice.meaning.readback import ask_between, read_back

if TYPE_CHECKING:
    from pydantic import BaseModel

GRAMMAR = load_grammar()
MMHG, CMH2O = LegSettings(), LegSettings(pressure_unit="cmH2O")
KINDS: tuple[type[BaseModel], ...] = get_args(get_args(Entry)[0])


@st.composite
def meanings(draw: st.DrawFn) -> Meaning:
    """What any legal phrase means."""
    rng = random.Random(draw(st.integers(0, 2**32)))
    state = draw(st.sampled_from([Listening.CONFIRMING, Listening.CHOOSING]))
    return GRAMMAR.sample(rng, state, draw(st.sampled_from([MMHG, CMH2O])))[1]


@given(meanings(), st.sampled_from([MMHG, CMH2O]))
def test_read_back_means_the_same(meaning: Meaning, settings: LegSettings) -> None:
    """The read-back of any meaning, heard by the grammar, is that meaning and no other."""
    assert GRAMMAR.parse(read_back(meaning, settings), settings) == (meaning,)


@given(meanings(), st.sampled_from([MMHG, CMH2O]))
def test_long_read_back_means_the_same(meaning: Meaning, settings: LegSettings) -> None:
    """In the long style as well, the read-back is heard as what was meant."""
    spoken = read_back(meaning, settings, long=True)
    assert GRAMMAR.parse(spoken, settings) == (meaning,)
    assert len(spoken) >= len(read_back(meaning, settings))


@pytest.mark.parametrize(
    ("said", "spoken"),
    [
        (Pressure(value=14, unit="mmHg"), "intracranial pressure, one four millimetres"),
        (Saturation(percent=97), "oxygen saturation, nine seven percent"),
        (
            DrainLevel(level_cmh2o=10, reference="tragus"),
            "drain level above tragus, one zero centimetres",
        ),
        (DrainClamped(reason="transfer"), "drain clamped for, transfer"),
        (
            Correction(
                statement=Statement(
                    entry=Pressure(value=15, unit="mmHg"), when=MinutesAgo(minutes=25)
                )
            ),
            "correction, two five minutes ago, intracranial pressure, one five millimetres",
        ),
    ],
)
def test_long_style_tells_the_unit(said: Meaning | Entry, spoken: str) -> None:
    """The long style has the name in full and the unit, though it is the leg's own."""
    assert read_back(said, MMHG, long=True) == spoken


@given(meanings())
def test_read_back_says_numbers_digit_by_digit(meaning: Meaning) -> None:
    """No read-back holds a number word above nine."""
    above_nine = {num2words(n) for n in [*range(10, 21), *range(30, 100, 10)]} | {"hundred"}
    assert above_nine.isdisjoint(normalise(read_back(meaning, MMHG)).split())


@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.__name__)
def test_every_kind_is_said_and_read_back(kind: type[BaseModel]) -> None:
    """Every kind of entry, with each of its fields, comes out of some phrase of the grammar."""
    said = [p for p in GRAMMAR.phrases if p.entry == kind.model_fields["kind"].default]
    fields = {f for p in said for f in (*p.slots, *p.fixed, *p.default)}
    if kind in {SpokenNote, CheckAnswer}:  # made by "take a note", from sound alone, and by a check
        assert not said
    else:
        assert fields == set(kind.model_fields) - {"kind"}
        assert any(p.read for p in said)


def test_spoken_note_is_read_back_by_name() -> None:
    """A note has no words of its own to repeat."""
    assert read_back(SpokenNote(), MMHG) == "note"


def test_answer_of_a_check_is_read_back_by_its_item() -> None:
    """An answer is read back with what was asked, the answer last."""
    answer = CheckAnswer(check="before leaving", item="spare pressure cables", answer="yes")
    assert read_back(answer, MMHG) == "spare pressure cables, yes"


@pytest.mark.parametrize(
    ("said", "spoken"),
    [
        (Pressure(value=14, unit="mmHg"), "pressure, one four"),
        (Pressure(value=14, unit="cmH2O"), "pressure, one four centimetres"),
        (Pressure(value=-2.5, unit="mmHg"), "pressure, minus two point five"),
        (Saturation(percent=97), "saturation, nine seven"),
        (EndTidalCo2(value_mmhg=36), "end tidal, three six"),
        (Temperature(value_celsius=37), "temperature, three seven"),
        (DrainLevel(level_cmh2o=10, reference="tragus"), "drain level above tragus, one zero"),
        (DrainLevel(level_cmh2o=-5, reference="tragus"), "drain level below tragus, five"),
        (DrainClamped(reason="transfer"), "drain clamped for, transfer"),
        (DrugGiven(drug="fentanyl", dose=50, unit="mcg"), "fentanyl, five zero micrograms"),
        (Pupils(equal=True, reaction="reactive"), "pupils equal, reactive"),
        (
            Statement(entry=Pressure(value=15, unit="mmHg"), when=ClockTime(hour=9, minute=5)),
            "at zero nine zero five, pressure, one five",
        ),
        (
            Correction(
                statement=Statement(
                    entry=Pressure(value=15, unit="mmHg"), when=MinutesAgo(minutes=25)
                )
            ),
            "correction, two five minutes ago, pressure, one five",
        ),
        (Command(talk=Talk.SCRATCH_THAT), "scratch that"),
        (Choice(value=1.5), "one point five"),
    ],
)
def test_read_back_puts_the_value_last(said: Meaning | Entry, spoken: str) -> None:
    """The read-back names the entry first and ends with the value, with its unit if it matters."""
    assert read_back(said, MMHG) == spoken


def test_unit_is_left_out_when_it_is_the_legs_own() -> None:
    """A pressure in the leg's own unit is read back without it."""
    assert read_back(Pressure(value=14, unit="cmH2O"), CMH2O) == "pressure, one four"


def test_what_cannot_be_said_is_an_error() -> None:
    """An entry that no phrase can say is refused in a sentence and not read back half."""
    with pytest.raises(GrammarError, match="no read-back for drug_given"):
        read_back(DrugGiven(drug="unheard", dose=1, unit="mg"), MMHG)


def statement(value: float, when: MinutesAgo | None = None) -> Statement:
    """A pressure."""
    return Statement(entry=Pressure(value=value, unit="mmHg"), when=when)


@pytest.mark.parametrize(
    ("first", "second", "question"),
    [
        (statement(15), statement(50), "pressure: one five, or five zero?"),
        (
            statement(20, MinutesAgo(minutes=5)),
            statement(25),
            "five minutes ago, pressure, two zero, or pressure, two five?",
        ),
        (statement(15), Command(talk=Talk.RESUME), "pressure, one five, or resume?"),
    ],
)
def test_question_tells_what_differs(first: Meaning, second: Meaning, question: str) -> None:
    """The question says once what both share, and then each reading."""
    assert ask_between(first, second, MMHG) == question
