from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice.entries.kinds.drain import Drained, Pressure
from voice.entries.kinds.leg import SpokenNote
from voice.entries.kinds.vitals import BloodPressure, HeartRate
from voice.entries.leg import LegSettings
from voice.entries.said import ClockTime, MinutesAgo, Statement
from voice.meaning.grammar import load_grammar
from voice.review.typed import IN_WORDS, TypedError, in_words, nearest, typed

SETTINGS = LegSettings()
PRESSURE = Pressure(value=14, unit="mmHg")
PIECES = ["pressure", "14", "-2", "mmHg", "at", "14:05", "drained", "6", "ml", "/", ".", "five"]
BLOOD_PRESSURE = BloodPressure(systolic_mmhg=120, diastolic_mmhg=80)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("ICP 14 mmHg", "intracranial pressure fourteen millimetres of mercury"),
        ("bp 120/80", "blood pressure one hundred twenty over eighty"),
        ("temperature 37.2", "temperature thirty seven point two"),
        ("sedation score -2", "sedation score minus two"),
        ("drained 6 mL at 14:05", "drained six mils at fourteen zero five"),
        ("Oxygen: 97%", None),
        ("oxygen 97%", "oxygen ninety seven percent"),
        ("pressure 14, five minutes ago.", "pressure fourteen five minutes ago"),
        ("pressure 1,400", None),
        ("pressure 14.5.2", None),
        ("pressure 1234567", None),
        ("pressure 7.1234", None),
        ("pressure 5-10", None),
        ("pressure <14", None),
        ("drained 6 at 24:10", None),
        ("pressure \uff11\uff14", None),
    ],
)
def test_figures_are_put_into_words(text: str, words: str | None) -> None:
    """What is written in figures is what would be said; what cannot be read is refused, not left out."""
    if words is None:
        with pytest.raises(TypedError):
            in_words(text)
    else:
        assert in_words(text) == words


@given(st.text(max_size=40) | st.lists(st.sampled_from(PIECES)).map(" ".join))
def test_no_text_does_harm(text: str) -> None:
    """Whatever is typed is an entry that the grammar knows, or a sentence on why not."""
    try:
        statement, words = typed(text, load_grammar(), SETTINGS, PRESSURE)
    except TypedError:
        return
    found = load_grammar().parse(words, SETTINGS)
    assert any(getattr(m, "statement", m) == statement for m in found)


@given(value=st.floats(0, 120), digits=st.integers(0, 3))
def test_a_number_alone_is_only_what_could_be_said(value: float, digits: int) -> None:
    """A typed number that is taken is exactly the value typed, and could have been spoken."""
    text = f"{value:.{digits}f}"
    try:
        statement, _ = typed(text, load_grammar(), SETTINGS, PRESSURE)
    except TypedError:
        return
    assert statement.entry == Pressure(value=float(text), unit="mmHg")


def test_a_drug_in_a_wrong_unit_is_refused() -> None:
    """What is refused aloud on the leg is refused at the desk, with the right unit."""
    with pytest.raises(TypedError, match="five zero milligrams; that drug goes in micrograms"):
        typed("fentanyl 50 mg", load_grammar(), SETTINGS, PRESSURE)


def test_numbers_take_the_places_of_numbers() -> None:
    """Of an entry with two numbers both are typed, in its order; the rest of it stays."""
    entry, _ = typed("95/60", load_grammar(), SETTINGS, BLOOD_PRESSURE)
    assert entry == Statement(entry=BloodPressure(systolic_mmhg=95, diastolic_mmhg=60))
    for text in ("95", "95/60/70"):
        with pytest.raises(TypedError, match="holds 2 numbers"):
            typed(text, load_grammar(), SETTINGS, BLOOD_PRESSURE)
    with pytest.raises(TypedError, match="no number"):
        typed("95", load_grammar(), SETTINGS, SpokenNote())


def test_a_number_out_of_range_is_told_what_is_in_it() -> None:
    """The sentence says from where to where, and which value is the nearest; of two numbers only that."""
    told = "500 is out of range for such an entry: it takes -10 to 100; the nearest to 500 is 100."
    with pytest.raises(TypedError, match=re.escape(told)):
        typed("500", load_grammar(), SETTINGS, PRESSURE)
    with pytest.raises(TypedError, match="the nearest to 88"):
        typed("88.4", load_grammar(), SETTINGS, HeartRate(rate_per_min=80))
    with pytest.raises(TypedError, match=r"such an entry\.$"):
        typed("999/60", load_grammar(), SETTINGS, BLOOD_PRESSURE)


def test_a_unit_is_never_guessed() -> None:
    """A pressure in the other unit is told with it, and is not taken for the leg's own."""
    water, _ = typed("pressure 14 cmH2O", load_grammar(), SETTINGS)
    assert water.entry == Pressure(value=14, unit="cmH2O")
    with pytest.raises(TypedError):
        typed("14 cmH2O", load_grammar(), SETTINGS, PRESSURE)
    with pytest.raises(TypedError):
        typed("heart rate 88 mmHg", load_grammar(), SETTINGS)


def test_a_time_may_be_typed_with_the_entry() -> None:
    """What is said about the time counts when it is typed."""
    at, _ = typed("drained 6 ml at 14:05", load_grammar(), SETTINGS)
    assert at == Statement(entry=Drained(volume_ml=6), when=ClockTime(hour=14, minute=5))
    ago, _ = typed("heart rate 88 five minutes ago", load_grammar(), SETTINGS)
    assert ago == Statement(entry=HeartRate(rate_per_min=88), when=MinutesAgo(minutes=5))


def test_a_correction_is_typed_as_it_is_spoken() -> None:
    """Whoever types "correction" as the nurse says it is understood."""
    statement, _ = typed("correction pressure 15", load_grammar(), SETTINGS)
    assert statement.entry == Pressure(value=15, unit="mmHg")


def test_near_phrases_are_offered() -> None:
    """A slip of the keyboard is answered with phrases that look like it, each an entry."""
    with pytest.raises(TypedError) as refused:
        typed("blod presure 120/80", load_grammar(), SETTINGS)
    assert any("blood pressure" in phrase for phrase in refused.value.nearest)
    for phrase in nearest("presure forteen", load_grammar()):
        typed(phrase, load_grammar(), SETTINGS)


def test_what_is_written_short_is_known_to_the_grammar() -> None:
    """Every short way of writing stands for words that the grammar has."""
    known = {word for example in load_grammar().examples for word in example.text.split()}
    known |= {"of", "mercury", "water", "minute", "a"}
    assert {word for words in IN_WORDS.values() for word in words.split()} <= known
