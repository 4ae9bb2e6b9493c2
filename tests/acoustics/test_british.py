"""The British forms that are derived from American ones."""

from __future__ import annotations

import pytest

from voice.acoustics.british import british


@pytest.mark.parametrize(
    ("american", "expected"),
    [
        ("F AO1 R", "F AO"),
        ("F AO0 R T IY1 N", "F AO T IY N"),
        ("CH AA1 R T", "CH AA T"),
        ("K L IH1 R", "K L IY AH"),
        ("AW1 R", "AW AH"),
        ("EH1 R", "EH"),
    ],
)
def test_r_is_lost_before_consonants_and_at_the_end(american: str, expected: str) -> None:
    """An R that no vowel follows is not heard, and a high vowel before it glides to a schwa."""
    assert british("", american.split()) == tuple(expected.split())


@pytest.mark.parametrize("word", ["P R AH", "D R EY1 N", "S K AE2 R IY", "V EH1 R IY0"])
def test_r_before_a_vowel_stays(word: str) -> None:
    """Pressure, drain and very keep their R."""
    assert "R" in british("", word.split())


@pytest.mark.parametrize(
    ("american", "expected"),
    [
        ("P R EH1 SH ER0", "P R EH SH AH"),
        ("L IY T ER Z", "L IY T AH Z"),
        ("IH2 N T ER1 N AH0 L", "IH N T ER N AH L"),
        ("TH ER1 D IY2", "TH ER D IY"),
        ("F ER", "F ER"),
        ("M EH1 M ER0 IY0", "M EH M AH R IY"),
        ("K ER1 AH0 N T", "K AH R AH N T"),
    ],
)
def test_er_is_a_schwa_without_stress(american: str, expected: str) -> None:
    """Pressure ends in a schwa; third and fur keep the long vowel; current gets a short one."""
    assert british("", american.split()) == tuple(expected.split())


@pytest.mark.parametrize(
    ("american", "expected"),
    [("N AA1 T", "N AO T"), ("T AH0 M AA1 R OW2", "T AH M AO R OW"), ("AA1 R M", "AA M")],
)
def test_the_short_o_is_rounded(american: str, expected: str) -> None:
    """Not and tomorrow have the short o; arm has the long a."""
    assert british("", american.split()) == tuple(expected.split())


def test_what_is_said_alike_stays() -> None:
    """A word without R, ER or short o is the same in both."""
    assert british("mil", ["M", "IH1", "L"]) == ("M", "IH", "L")


@pytest.mark.parametrize(
    ("word", "american", "expected"),
    [
        ("half", "HH AE1 F", "HH AA F"),
        ("after", "AE1 F T ER0", "AA F T AH"),
        ("tubing", "T UW1 B IH0 NG", "T Y UW B IH NG"),
        ("pad", "P AE1 D", "P AE D"),
        ("noon", "N UW1 N", "N UW N"),
    ],
)
def test_listed_words_differ_by_themselves(word: str, american: str, expected: str) -> None:
    """Half has the long a and tubing a Y; pad and noon, which are not listed, have neither."""
    assert british(word, american.split()) == tuple(expected.split())
