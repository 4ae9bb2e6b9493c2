"""How far rows of phones are from each other."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice.acoustics.lexicon_file import read_lexicon
from voice.acoustics.shipped import MODEL_FOLDER
from voice.acoustics.topology import PHONES
from voice.training.phrases.phone_distance import change, distance, gap

LEXICON = read_lexicon(MODEL_FOLDER / "graph" / "lexicon.txt")
ROWS = st.lists(st.sampled_from(PHONES), max_size=7)


def between(one: str, other: str) -> float:
    """How far two words are apart, by the pronunciations that are nearest."""
    return min(distance(a, b) for a, b in product(LEXICON[one], LEXICON[other]))


@given(ROWS, ROWS)
def test_it_is_the_same_both_ways_and_zero_only_for_the_same(
    one: list[str], other: list[str]
) -> None:
    """The distance is the same both ways, and nothing only between equal rows."""
    assert distance(one, other) == distance(other, one)
    assert (distance(one, other) == 0) == (one == other)


@given(ROWS, ROWS)
def test_what_is_common_at_both_ends_costs_nothing(one: list[str], other: list[str]) -> None:
    """Equal beginnings and endings do not change the distance."""
    around = distance(["S", *one, "K"], ["S", *other, "K"])
    assert around == pytest.approx(distance(one, other))


@given(ROWS, ROWS, st.floats(0, 6))
def test_what_is_farther_than_asked_for_is_only_known_to_be_so(
    one: list[str], other: list[str], most: float
) -> None:
    """With a limit the distance is the same up to it, and beyond it stays beyond it."""
    far, told = distance(one, other), distance(one, other, most)
    assert told == far or (far > most and told > most)


def test_every_two_phones_have_a_cost() -> None:
    """A change of phone costs something, and never more than leaving one out and putting one in."""
    for one, other in product(PHONES, repeat=2):
        assert change(one, other) == change(other, one)
        assert (change(one, other) == 0) == (one == other)
        assert change(one, other) <= gap(one) + gap(other)


@pytest.mark.parametrize(
    ("near", "far"),
    [
        (("fifteen", "fifty"), ("fifteen", "sixty")),
        (("nine", "five"), ("nine", "seven")),
        (("bloody", "cloudy"), ("bloody", "clear")),
        (("clamped", "unclamped"), ("clamped", "opened")),
        (("fentanyl", "sufentanil"), ("fentanyl", "mannitol")),
    ],
)
def test_known_hazards_are_nearer_than_others(near: tuple[str, str], far: tuple[str, str]) -> None:
    """What people and recognisers confuse is nearer than what they do not."""
    assert between(*near) < between(*far)
