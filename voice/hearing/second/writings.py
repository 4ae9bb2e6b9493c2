"""The ways in which Whisper may write what is said: "fourteen" and "14", "c s f" and "CSF".

It was taught with texts of the web and writes as they do. A phrase that could only be written in one way
would be weighed by how usual that way is, and less by how it sounds.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from voice.meaning.numbers import DIGITS, spoken_forms

if TYPE_CHECKING:
    from collections.abc import Iterator

ALSO = {
    "centimetres": (" centimeters", " cm"),
    "decilitre": (" deciliter", " dL"),
    "drained": (" drain",),
    "emptied": (" empty",),
    "haemoglobin": (" hemoglobin",),
    "leveled": (" levelled",),
    "litre": (" liter",),
    "litres": (" liters",),
    "micrograms": (" mcg",),
    "milligrams": (" mg",),
    "millilitres": (" milliliters", " ml", " mL"),
    "millimetres": (" millimeters", " mm"),
    "mils": (" mills", " ml", " mL", " m"),
    "nought": (" naught",),
    "oh": (" O", " 0"),
    "okay": (" OK", " Ok"),
    "over": ("/",),
    "peep": (" PEEP",),
    "percent": ("%",),
    "point": (".",),
    "rass": (" RASS",),
}
"""What some words are written as besides; with the space before it, where there is one."""
ALSO_TOGETHER = {"evd": (" EBD", " VD")}
"""The same for letters that are spoken one by one."""
MARKS = (",", ".", "-", ":")
"""What may stand between words and says nothing."""
STOP = "."
"""What may stand at the end."""
MOST_LETTERS = 4
"""Of an abbreviation, as "c s f"."""


def writings(word: str, *, first: bool) -> Iterator[str]:
    """A word as it may be written, with the space before it; ``first``: it may begin a text."""
    yield f" {word}"
    if first or len(word) == 1:
        yield f" {word.capitalize()}"
    yield from ALSO.get(word, ())


def abbreviations(letters: tuple[str, ...]) -> Iterator[str]:
    """Letters that are spoken one by one, as they may be written together."""
    joined = "".join(letters)
    yield f" {joined}"
    yield f" {joined.upper()}"
    yield from ALSO_TOGETHER.get(joined, ())


@cache
def spoken(figures: str) -> tuple[tuple[str, ...], ...]:
    """What may have been said where figures are written, most usual first."""
    if figures.startswith("0") and len(figures) > 1:
        return tuple(
            tuple(zero if f == "0" else DIGITS[int(f)] for f in figures)
            for zero in ("oh", "zero", "nought")
        )
    forms = [*spoken_forms(int(figures)), " ".join(DIGITS[int(f)] for f in figures)]
    return tuple(tuple(form.split()) for form in forms)


@cache
def number_words() -> frozenset[str]:
    """Words of which numbers are made."""
    values = (*range(100), 101, 1001, 0.5, -1)
    return frozenset(
        word for value in values for form in spoken_forms(value) for word in form.split()
    )
