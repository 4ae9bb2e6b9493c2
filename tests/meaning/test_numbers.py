"""Spoken numbers, compared with the num2words library."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from voice.meaning.numbers import digit_words, spoken_forms


def as_said(text: str) -> str:
    """num2words' spelling without hyphens and commas."""
    return re.sub(r"[-,]", " ", text).replace("  ", " ")


def test_whole_numbers_agree_with_num2words() -> None:
    """Number words in full, with and without "and", are those of num2words."""
    for n in [*range(1000), *range(1000, 2001, 25)]:
        british = as_said(num2words(n))
        assert {british, british.replace(" and ", " ")} <= set(spoken_forms(n, "words"))


def test_tenths_agree_with_num2words() -> None:
    """Decimals are said as num2words says them."""
    for tenths in range(1, 1510):
        value = tenths / 10 if tenths % 10 else tenths // 10
        assert as_said(num2words(value)) in spoken_forms(value, "words")


def test_a_zero_after_the_point_may_be_oh() -> None:
    """Point oh five is as good as point zero five, but the read-back says zero."""
    said = spoken_forms(0.05)
    assert {"point zero five", "point oh five", "zero point oh five"} <= set(said)
    assert digit_words(0.05) == "zero point zero five"


def test_negative_numbers_agree_with_num2words() -> None:
    """A number below zero begins with "minus" as num2words has it, or with "negative"."""
    for n in range(-20, 0):
        said = as_said(num2words(n))
        assert {said, said.replace("minus", "negative")} <= set(spoken_forms(n))


def test_hundreds_above_a_thousand_are_said_as_years_are() -> None:
    """Fifteen hundred is the "year" style of num2words."""
    for n in range(1100, 2000, 100):
        assert as_said(num2words(n, to="year")) in spoken_forms(n, "words")


def test_short_hundreds_are_said_as_years_are() -> None:
    """One twelve for 112 is said as num2words says the two halves of a year."""
    for n in range(101, 1000):
        hundreds, rest = divmod(n, 100)
        link = " oh " if rest < 10 else " "
        if rest:
            assert as_said(f"{num2words(hundreds)}{link}{num2words(rest)}") in spoken_forms(n)


@given(st.integers(-999, 9999))
def test_digits_are_those_that_are_written(n: int) -> None:
    """Digit by digit, each figure is num2words' word for it."""
    figures = " ".join(num2words(int(f)) for f in str(abs(n)))
    assert digit_words(n) == ("minus " if n < 0 else "") + figures


@given(st.integers(-200, 20000))
def test_read_back_form_is_a_spoken_form(tenths: int) -> None:
    """What is read back can be said."""
    value = tenths / 10
    assert digit_words(value) in spoken_forms(value)
    assert digit_words(value) in spoken_forms(value, "digits")


@pytest.mark.parametrize("step", [1, 0.1])
def test_no_form_means_two_values(step: float) -> None:
    """No way of saying a number from -20 to 999 in words, digits or short means another one."""
    meant: dict[str, float] = {}
    for n in range(round(1019 / step) + 1):
        value = round(-20 + n * step, 3)
        for form in spoken_forms(value):
            assert meant.setdefault(form, value) == value


def test_no_time_of_day_means_two() -> None:
    """No hour followed by no minute sounds like another hour and minute."""
    meant: dict[str, tuple[int, int]] = {}
    for hour in range(24):
        for minute in range(60):
            for one in spoken_forms(hour, "hour"):
                for two in spoken_forms(minute, "minute"):
                    text = f"{one} {two}"
                    assert meant.setdefault(text, (hour, minute)) == (hour, minute)


@pytest.mark.parametrize(
    ("value", "form"),
    [
        (106, "one oh six"),
        (112, "one hundred and twelve"),
        (112, "one one two"),
        (0, "nought"),
        (0.5, "point five"),
        (0.5, "zero point five"),
        (0.5, "oh point five"),
        (37.2, "three seven point two"),
        (37.2, "thirty seven decimal two"),
        (-2, "minus two"),
        (1500, "fifteen hundred"),
        (1500, "one thousand five hundred"),
        (250, "two fifty"),
    ],
)
def test_ways_of_saying_it(value: float, form: str) -> None:
    """Each usual way of saying a value is one of its forms."""
    assert form in spoken_forms(value)


@pytest.mark.parametrize(
    ("value", "form"), [(0, "oh"), (5, "oh five"), (112, "one hundred one two"), (20, "two")]
)
def test_ways_that_do_not_mean_it(value: float, form: str) -> None:
    """A lonely "oh", or a mixture of words and digits, is no number."""
    assert form not in spoken_forms(value)
