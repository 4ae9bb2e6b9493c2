from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from tests.review.flight import START, Flight, at
from voice.entries.kinds.drain import Pressure
from voice.entries.kinds.vitals import HeartRate
from voice.entries.leg import EntryState, LegEntry
from voice.meaning.grammar import load_grammar
from voice.review.desk import Desk
from voice.review.need import far_from_neighbours, has_twin

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


def course(*values: float, state: EntryState = EntryState.CONFIRMED) -> list[LegEntry]:
    """Pressures, ten minutes apart."""
    return [
        LegEntry(
            number=number,
            entry=Pressure(value=value, unit="mmHg"),
            heard="",
            spoken_at=START + timedelta(minutes=10 * number),
            happened_at=START + timedelta(minutes=10 * number),
            state=state,
        )
        for number, value in enumerate(values, start=1)
    ]


@pytest.mark.parametrize(
    ("values", "far"),
    [
        ((14, 15, 40, 16, 15), [3]),
        ((41, 14, 15, 16, 15), [1]),
        ((14, 15, 16, 15, 50), [5]),
        ((14, 15, 16, 15, 14), []),
        ((14, 18, 22, 26, 30), []),
        ((14, 15, 30, 31, 30), []),
        ((14, 14, 14, 15, 14), []),
        ((14, 40), []),
        ((), []),
    ],
)
def test_a_value_far_from_its_neighbours_is_marked(
    values: tuple[float, ...], far: list[int]
) -> None:
    """A lone spike is marked, also as the first or the last; a rise, a step and small changes are not."""
    assert sorted(far_from_neighbours(course(*values))) == far


def test_only_like_is_compared_with_like() -> None:
    """Other subjects, other units and what no longer counts are no neighbours."""
    entries = course(14, 15, 40, 16)
    other = [
        entries[2].model_copy(update={"entry": HeartRate(rate_per_min=40)}),
        entries[2].model_copy(update={"entry": Pressure(value=40, unit="cmH2O")}),
        entries[2].model_copy(update={"state": EntryState.WITHDRAWN}),
    ]
    for one in other:
        assert far_from_neighbours([*entries[:2], one, *entries[3:]]) == {}
    (reason,) = far_from_neighbours(entries).values()
    assert reason.words == "far from its neighbours, 15 mmHg and 16 mmHg"
