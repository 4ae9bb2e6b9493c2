"""Finding the leg that is meant."""

from __future__ import annotations

import errno
import os
from typing import TYPE_CHECKING, NoReturn

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice.commands.which_leg import WhichLegError, kept_legs, which_leg

if TYPE_CHECKING:
    from pathlib import Path

IDS = ["2031-05-01-0910", "2031-05-01-0910-2", "2031-05-02-1402"]


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("2031-05-02-1402", "2031-05-02-1402"),
        ("05-02", "2031-05-02-1402"),
        ("1402", "2031-05-02-1402"),
        ("last", "2031-05-02-1402"),
        ("2031-05-01-0910", "2031-05-01-0910"),
    ],
)
def test_a_part_that_only_one_leg_has_is_enough(asked: str, found: str) -> None:
    """An id, any part of it that no other leg has, and "last" each name one leg."""
    assert which_leg(asked, IDS) == found


@given(st.text())
def test_whatever_is_asked_names_a_kept_leg_or_is_refused(asked: str) -> None:
    """No name ever leads to a leg that does not hold it, and a refusal names a leg that exists."""
    holding = [leg_id for leg_id in IDS if asked in leg_id]
    if asked == "last" or asked in IDS or len(holding) == 1:
        assert which_leg(asked, IDS) in (holding or IDS)
    else:
        with pytest.raises(WhichLegError, match="|".join(IDS)):
            which_leg(asked, IDS)


def test_a_part_of_several_legs_is_asked_about() -> None:
    """A part that two legs have leads to a question that names both."""
    with pytest.raises(WhichLegError, match=r"could be 2031-05-01-0910 or 2031-05-01-0910-2"):
        which_leg("05-01", IDS)


def test_a_slip_of_the_finger_is_answered_with_the_nearest_leg() -> None:
    """A mistyped id is refused, and the likeliest leg is named first."""
    with pytest.raises(WhichLegError, match=r"Did you mean 2031-05-02-1402, "):
        which_leg("2031-05-02-1420", IDS)


def test_without_any_leg_it_is_said_how_to_begin() -> None:
    """On a new machine the answer is how to start a leg."""
    with pytest.raises(WhichLegError, match=r"legbook listen"):
        which_leg("last", [])


def test_a_disk_that_does_not_answer_is_no_machine_without_legs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It would look as if no leg had been kept, and all that is done to all legs would be done to none."""

    def dead(_: object) -> NoReturn:
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    assert kept_legs() == ()
    monkeypatch.setattr(os, "scandir", dead)
    with pytest.raises(WhichLegError, match=r"cannot be listed: .*Look at that disk"):
        kept_legs()
