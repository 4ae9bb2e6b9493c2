from __future__ import annotations

import shutil
from contextlib import suppress
from random import Random
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.record import plants
from tests.record.planting import SEEN_BY_CODE, SEEN_INSIDE
from voice.record.chain import Head, next_row
from voice.record.proof import CodeError, code, contradiction
from voice.record.shelf import verify

if TYPE_CHECKING:
    from pathlib import Path

    from tests.record.plants import Plant
    from voice.record.journal import Journal

A_HASH = st.text("0123456789abcdef", min_size=64, max_size=64)
NUMBER = st.integers(1, 10**6)


@pytest.mark.parametrize("plant", SEEN_INSIDE, ids=lambda plant: plant.__name__)
def test_every_planted_change_is_found(kept_leg: Path, tmp_path: Path, plant: Plant) -> None:
    """Whatever is changed, removed, reordered or cut off, wherever, verify says that something was."""
    assert plants.missed(kept_leg, tmp_path / "copy", plant, 8, Random(7)) == []


@pytest.mark.parametrize("plant", SEEN_BY_CODE, ids=lambda plant: plant.__name__)
def test_what_the_folder_hides_the_code_on_paper_tells(
    kept_leg: Path, tmp_path: Path, plant: Plant
) -> None:
    """A rolled-back or wholly forged leg looks whole from inside, and not beside the noted code."""
    head = verify(kept_leg).head
    for noted in (code(head), head.hash):
        assert plants.missed(kept_leg, tmp_path / "copy", plant, 4, Random(7), noted=noted) == []
    copy = tmp_path / "copy" / kept_leg.name
    shutil.copytree(kept_leg, copy)
    plant(copy, Random(7))
    assert verify(copy).intact


def test_a_code_proves_all_up_to_it(kept_leg: Path, journal: Journal) -> None:
    """A code stays good when the leg grows: nothing up to it was changed."""
    head = verify(kept_leg).head
    assert journal.head == head
    for noted in (code(head), code(head).lower().replace("-", " "), head.hash.upper()):
        assert verify(kept_leg, noted=noted).intact


def test_a_code_of_another_leg_is_none_of_this(kept_leg: Path) -> None:
    """A whole seal that the leg never had contradicts it."""
    assert not verify(kept_leg, noted="0" * 64).intact


@given(NUMBER, A_HASH)
def test_a_code_can_be_copied_by_hand(number: int, digest: str) -> None:
    """Small letters, spaces, and I, L and O for 1 and 0 are understood."""
    row = next_row(Head(number - 1, digest), "{}")
    written = code(Head(row.number, row.hash))
    by_hand = written.lower().replace("1", "l").replace("0", "o").replace("-", " ")
    number_by_hand, _, letters = by_hand.partition(" ")
    assert contradiction(f"{number_by_hand}  {letters}", [row]) is None


@given(NUMBER, A_HASH, st.integers(0, 19), st.sampled_from("0123456789ABCDEFGHJKMNPQRSTVWXYZ"))
def test_a_slip_never_passes(number: int, digest: str, place: int, letter: str) -> None:
    """One wrong letter is told as a slip or as a contradiction, and never taken for the code."""
    row = next_row(Head(number - 1, digest), "{}")
    first, *groups = code(Head(row.number, row.hash)).split("-")
    letters = "".join(groups)
    wrong = f"{letters[:place]}{letter}{letters[place + 1 :]}"
    if wrong == letters:
        return
    with suppress(CodeError):
        assert contradiction(f"{first}-{wrong}", [row]) is not None


@pytest.mark.parametrize("noted", ["", "11", "K7QD-9XMF", "11-UUUU-UUUU-UUUU-UUUU-UUUU", "é-é"])
def test_what_is_no_code_is_told(noted: str) -> None:
    """Anything else than a code gets a sentence that says what one looks like."""
    with pytest.raises(CodeError, match="five groups of four"):
        contradiction(noted, [])


@settings(max_examples=30)
@given(NUMBER, st.lists(A_HASH, min_size=2, max_size=2, unique=True))
def test_other_journals_have_other_codes(number: int, digests: list[str]) -> None:
    """The code follows the hash."""
    one, other = (code(Head(number, digest)) for digest in digests)
    assert (one == other) == (digests[0][:23] == digests[1][:23])
