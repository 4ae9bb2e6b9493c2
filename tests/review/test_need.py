from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.review.flight import Flight, at
from voice.meaning.grammar import load_grammar
from voice.review.desk import Desk
from voice.review.need import has_twin

if TYPE_CHECKING:
    from pathlib import Path

    from voice.review.rows import Row


def rows(flight: Flight) -> list[Row]:
    """The rows of a flight that is over, what needs a look most first."""
    desk = Desk(flight.end(), load_grammar(), lambda: at(99))
    return sorted(desk.view().rows, key=lambda row: (-row.need, row.number))


@pytest.mark.parametrize(
    ("words", "twin"),
    [
        ("pressure fifteen", True),
        ("fentanyl fifty micrograms", True),
        ("pressure fifty one", False),
        ("pressure five zero", False),
        ("heart rate one hundred thirteen", True),
        ("pressure twenty", False),
        ("", False),
    ],
)
def test_teens_and_tens_are_known(words: str, twin: bool) -> None:
    """A teen is marked, and a ten that stands without ones; digits one by one are safe."""
    assert has_twin(words) == twin


def test_what_most_needs_a_human_comes_first(tmp_path: Path) -> None:
    """Unconfirmed before near rivals before teens before what nothing is known against."""
    flight = Flight(tmp_path)
    flight.say("pressure twenty one")
    flight.say("heart rate eighty")
    flight.say("pressure twenty two", "pressure twenty")
    flight.say("pressure twenty three", confirm=False)
    flight.say("fentanyl fifty micrograms", "fentanyl fifteen micrograms", asked=True)
    listed = rows(flight)
    assert [row.number for row in listed] == [5, 4, 3, 2, 1]
    assert listed[-1].why_look == ()
    assert listed[-1].need == 0
    assert "a dose" in listed[0].why_look
    assert listed[1].why_look == ("never confirmed aloud",)
    assert listed[2].why_look == ("“pressure twenty” is nearly as likely",)


def test_a_note_needs_to_be_written_down_and_not_to_be_confirmed(tmp_path: Path) -> None:
    """Nothing is read back of a free note: that nobody confirmed it says nothing against it."""
    flight = Flight(tmp_path)
    flight.note()
    assert rows(flight)[0].why_look == ("a note that nobody has written down yet",)


def test_another_wording_is_no_rival(tmp_path: Path) -> None:
    """Two phrases that mean the same are not told as a doubt."""
    flight = Flight(tmp_path)
    flight.say("drain open", "drain opened")
    assert rows(flight)[0].why_look == ()


def test_a_lost_sound_is_told(tmp_path: Path) -> None:
    """An entry that nobody can listen to says so."""
    flight = Flight(tmp_path, with_sound=False)
    flight.say("pressure twenty one")
    assert rows(flight)[0].why_look == ("its sound was not kept",)
