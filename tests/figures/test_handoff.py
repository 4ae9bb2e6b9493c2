from __future__ import annotations

from tests.figures.conftest import entries
from voice.entries.kinds.drain import CsfColour, DrainClamped
from voice.entries.kinds.neuro import Pupil
from voice.entries.leg import EntryState
from voice.figures.handoff import NEEDS, missing


def test_all_is_missing_of_a_silent_leg() -> None:
    """Of a leg without entries everything is missing, in the order of a handoff."""
    assert missing(()) == tuple(need.name for need in NEEDS)


def test_any_of_its_kinds_tells_a_need() -> None:
    """One pupil tells of the pupils, a clamped drain how it stands."""
    told = entries((1, Pupil(side="left", size_mm=4)), (2, DrainClamped()))
    left = set(missing(())) - set(missing(told))
    assert left == {"pupils", "drain open or clamped"}


def test_what_was_taken_out_is_missing_again() -> None:
    """A withdrawn entry tells nothing; an unconfirmed one does."""
    told = (1, CsfColour(colour="straw"))
    assert "color" in missing(entries(told, state=EntryState.WITHDRAWN))
    assert "color" not in missing(entries(told, state=EntryState.UNCONFIRMED))
