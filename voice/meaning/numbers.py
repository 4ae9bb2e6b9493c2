"""Numbers as they are spoken: every way of saying a value, and the one way of reading it back.

A value is a whole number or has up to three decimals. The ways of saying one:

- ``words``: "fourteen", "one hundred [and] twelve", "thirty seven point two", "minus two"
  ("decimal" is as good as "point");
- ``digits``: "one four", "one one two", "three seven point two";
- ``short``: "one twelve", "one oh six" for 112 and 106, as blood pressures are said;
- ``hour`` and ``minute``: the two halves of a time of day, "oh nine" and "oh five".

"oh" stands only beside other digits or before "point": alone it is too short to be told from noise.
Compared in the tests with the ``num2words`` library over all numbers in range.
"""

from __future__ import annotations

from functools import cache
from itertools import product
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Iterator

Number = int | float
Style = Literal["any", "words", "digits", "hour", "minute"]

DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TEENS = ("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen",
          "eighteen", "nineteen")  # fmt: skip
_TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_ZEROS = ("zero", "oh", "nought")
_MINUS = ("minus", "negative")


def digit_words(value: Number) -> str:
    """``value`` digit by digit, as it is read back: 15 is "one five", -0.5 is "minus zero point five".

    There is always a digit before the point and never a zero at the end after it.
    Source: lists of safe-medication practice (leading and trailing zeros); digit by digit as in
    aviation radio practice, ICAO Annex 10 Volume II (both from memory).
    """
    sign = "minus " if value < 0 else ""
    return sign + " ".join("point" if c == "." else DIGITS[int(c)] for c in _written(abs(value)))


def clock_words(hour: int, minute: int) -> str:
    """A time of day digit by digit: "zero nine zero five", "one four two zero"."""
    return " ".join(DIGITS[int(figure)] for figure in f"{hour:02}{minute:02}")


def spoken_forms(value: Number, style: Style = "any") -> tuple[str, ...]:
    """Every way of saying ``value``; ``any`` style is all but the halves of a time of day."""
    sign = [f"{minus} " for minus in _MINUS] if value < 0 else [""]
    return tuple(dict.fromkeys(s + f for s in sign for f in _unsigned(_written(abs(value)), style)))


def plain(value: Number) -> Number:
    """``value`` without the dust of binary fractions, and whole where it is whole."""
    rounded = round(value, 3)
    return int(rounded) if rounded == int(rounded) else rounded


def _written(value: Number) -> str:
    """``value`` in figures, at most three decimals, no zero at the end after the point."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return text or "0"


def _unsigned(written: str, style: Style) -> Iterator[str]:
    whole, _, decimals = written.partition(".")
    if not decimals:
        yield from _whole(int(whole), style)
        return
    befores = _whole(int(whole), style)
    if int(whole) == 0:
        befores = ("zero", "oh", "nought", "")
    for before, point, after in product(befores, ("point", "decimal"), _decimals(decimals)):
        yield f"{before} {point} {after}".strip()


def _decimals(figures: str) -> tuple[str, ...]:
    """The figures after the point one by one; "oh" is as good as "zero"."""
    spoken = " ".join(DIGITS[int(figure)] for figure in figures)
    return tuple(dict.fromkeys([spoken, spoken.replace("zero", "oh")]))


@cache
def _whole(n: int, style: Style) -> tuple[str, ...]:
    if style == "hour":
        return tuple(_hour(n))
    if style == "minute":
        return tuple(_minute(n))
    forms: list[str] = []
    if style in {"any", "words"}:
        forms += _cardinal(n)
    if style in {"any", "digits"}:
        forms += _digits(str(n))
    if style == "any":
        forms += _short(n)
    return tuple(dict.fromkeys(forms))


def _cardinal(n: int) -> Iterator[str]:
    """Number words in full, American and British."""
    if n < 10:
        yield DIGITS[n]
        if n == 0:
            yield "nought"
    elif n < 20:
        yield _TEENS[n - 10]
    elif n < 100:
        tens, ones = divmod(n, 10)
        yield f"{_TENS[tens]} {DIGITS[ones]}" if ones else _TENS[tens]
    elif n < 1000:
        hundreds, rest = divmod(n, 100)
        yield from _joined([DIGITS[hundreds], *(["a"] if hundreds == 1 else [])], "hundred", rest)
    else:
        thousands, rest = divmod(n, 1000)
        yield from _joined([*_cardinal(thousands), *(["a"] if thousands == 1 else [])],
                           "thousand", rest)  # fmt: skip
        hundreds, odd = divmod(n, 100)
        if not odd and hundreds % 10:
            yield f"{next(_cardinal(hundreds))} hundred"


def _joined(counts: list[str], unit: str, rest: int) -> Iterator[str]:
    for count in counts:
        if not rest:
            yield f"{count} {unit}"
            continue
        for tail in _cardinal(rest):
            yield f"{count} {unit} {tail}"
            if rest < 100:
                yield f"{count} {unit} and {tail}"


def _digits(figures: str) -> Iterator[str]:
    """The figures one by one; the zeros of one number are all called the same."""
    if figures == "0":
        yield from ("zero", "nought")
        return
    for zero in _ZEROS:
        yield " ".join(zero if f == "0" else DIGITS[int(f)] for f in figures)


def _short(n: int) -> Iterator[str]:
    """Hundreds without the word: 112 is "one twelve", 106 is "one oh six"."""
    hundreds, rest = divmod(n, 100)
    if not 1 <= hundreds <= 9 or rest == 0:
        return
    if rest < 10:
        yield from (f"{DIGITS[hundreds]} {zero} {DIGITS[rest]}" for zero in _ZEROS)
    else:
        yield f"{DIGITS[hundreds]} {next(_cardinal(rest))}"


def _hour(n: int) -> Iterator[str]:
    """An hour before its minutes: 9 is "nine" or "oh nine"; 14 is "fourteen" or "one four"."""
    yield from _cardinal(n)
    yield from _padded(n)


def _minute(n: int) -> Iterator[str]:
    """Minutes after their hour, always as two digits or a number above nine: never "nine five"."""
    if n == 0:
        yield "hundred"
    if n >= 10:
        yield from _cardinal(n)
    yield from _padded(n)


def _padded(n: int) -> Iterator[str]:
    for pair in product(*(_ZEROS[:2] if f == "0" else (DIGITS[int(f)],) for f in f"{n:02d}")):
        yield " ".join(pair)
