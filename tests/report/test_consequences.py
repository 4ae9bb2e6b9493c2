"""States with consequences are told where the summary is read."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from tests.report.legs import GOLDEN, read_leg
from voice.entries.kinds.drain import CsfColour, DrainZeroed, Pressure, ZeroFailed
from voice.entries.kinds.leg import UnitCalled
from voice.entries.leg import EntryState, LegEntry
from voice.report.sections.trouble import trouble
from voice.report.summary import summary_text
from voice.report.telling import Telling

if TYPE_CHECKING:
    from pathlib import Path

    from voice.entries.kinds import Entry

LEG, NOW = read_leg(GOLDEN / "troubled.toml")
MARKED = "22 at 2 May 00:15 (not to be relied on: zero failed 23:35)"


def flat(text: str) -> str:
    """A summary without its line breaks."""
    return " ".join(text.split())


def test_a_pressure_after_a_failed_zero_is_marked_wherever_it_stands() -> None:
    """As the last one and in order it is marked, and the figures are told without it."""
    text = flat(summary_text(LEG, NOW))
    assert text.count(MARKED) == 2
    assert "Not to be relied on: 1 of 4 readings. The others alone: Range 14.7 to 24.5." in text


def test_a_zero_that_held_before_the_pressure_takes_the_mark_away() -> None:
    """Told later, but for 00:10, a good zero clears the pressure of 00:15 and closes the state."""
    zeroed = LegEntry(
        number=len(LEG.entries) + 1,
        entry=DrainZeroed(),
        heard="drain zeroed",
        spoken_at=NOW,
        happened_at=NOW - timedelta(minutes=30),
        state=EntryState.CONFIRMED,
    )
    text = flat(summary_text(LEG.model_copy(update={"entries": (*LEG.entries, zeroed)}), NOW))
    assert "not to be relied on" not in text
    assert "Zero failed at" not in text


def test_where_no_pressure_can_be_relied_on_that_is_said() -> None:
    """With all pressures read after the failed zero there is no figure without them."""
    after = [
        one
        for one in LEG.entries
        if not isinstance(one.entry, Pressure) or one.happened_at > NOW - timedelta(minutes=40)
    ]
    text = flat(summary_text(LEG.model_copy(update={"entries": tuple(after)}), NOW))
    assert "Not to be relied on: 1 of 1 readings. There is no other." in text


@pytest.mark.parametrize("path", sorted(GOLDEN.glob("*.toml")), ids=lambda path: path.stem)
def test_open_states_come_before_all_figures(path: Path) -> None:
    """What is open stands after the order, before how the drain stands and any figure."""
    text = summary_text(*read_leg(path))
    titles = [line for line in text.splitlines() if line and not line.startswith(" ")]
    place = titles.index("Open now")
    assert titles[place - 1 : place + 2] == ["The order", "Open now", "The drain now"]


def test_trouble_is_told_with_what_was_done_about_it() -> None:
    """The zero that held and a call stand after the trouble, and a call before it does not."""
    first, minute = LEG.started_at, timedelta(minutes=1)
    said: list[tuple[int, Entry]] = [
        (1, UnitCalled(whom="accepting unit")),
        (2, DrainZeroed()),
        (3, ZeroFailed()),
        (4, DrainZeroed()),
        (5, CsfColour(colour="red")),
        (6, UnitCalled(whom="neurosurgeon")),
        (7, DrainZeroed()),
    ]
    entries = tuple(
        LegEntry(
            number=number,
            entry=entry,
            heard="",
            spoken_at=first + number * minute,
            happened_at=first + number * minute,
            state=EntryState.CONFIRMED,
        )
        for number, entry in said
    )
    leg = LEG.model_copy(update={"entries": entries, "notices": (), "ended_at": None})
    lines = trouble(Telling(leg, NOW))
    told = ("Zero failed", "Drain zeroed", "CSF colour red", "Called neurosurgeon")
    assert [line.split(maxsplit=1)[1] for line in lines] == [f"{one}." for one in told]


def test_what_a_handoff_lacks_is_told_by_the_list_of_the_programme() -> None:
    """Without a list the shipped one is asked, and a list of nothing finds nothing lacking."""
    assert "Not told: leveled, when the catheter was placed" in flat(summary_text(LEG, NOW))
    assert "Not told:" not in summary_text(LEG, NOW, needs=())
