"""What the summary says of things done, and of the pressure after them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.report.sections.told import telling
from voice.entries.kinds.drain import Pressure, ZeroFailed
from voice.entries.kinds.drugs import DrugGiven, InfusionStarted
from voice.entries.leg import LegSettings
from voice.report.sections.effects import answers

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

FENTANYL = DrugGiven(drug="fentanyl", dose=50, unit="mcg")


def icp(*told: tuple[float, float]) -> list[tuple[float, Entry]]:
    """Pressures by minute and value."""
    return [(minute, Pressure(value=value, unit="mmHg")) for minute, value in told]


@pytest.mark.parametrize(
    ("after", "at_end", "told"),
    [
        (15, 18, "lowest 15 after 15 min, 18 at the end, still lower"),
        (15, 24, "lowest 15 after 15 min, 24 at the end, no longer lower"),
        (26, 27, "lowest 26 after 15 min, 27 at the end, not lower"),
        (26, 20, "lowest 26 after 15 min, 20 at the end, lower"),
    ],
)
def test_lower_is_only_what_was_lower(after: float, at_end: float, told: str) -> None:
    """A pressure that never fell is not called "no longer lower"."""
    (line,) = answers(telling(*icp((0, 24), (20, after), (50, at_end)), (5, FENTANYL)))
    assert line == f"14:05 Fentanyl 50 mcg: ICP 24 before, {told}."


def test_nothing_before_is_compared_with_nothing() -> None:
    """Without a pressure before it, the last of the leg is told alone."""
    (line,) = answers(telling(*icp((20, 15), (50, 18)), (5, FENTANYL)))
    assert line.endswith("no ICP in the 30 min before, lowest 15 after 15 min, 18 at the end.")


def test_a_programme_says_which_drugs_are_for_the_pressure() -> None:
    """What a leg's own list of drugs counts among them is told with the pressure after it."""
    read = icp((0, 24), (20, 15))
    own = DrugGiven(drug="osmolyte", dose=50, unit="g")
    settings = LegSettings(pressure_drugs=("osmolyte",))
    (line,) = answers(telling(*read, (5, own), (6, FENTANYL), settings=settings))
    assert line == "14:05 Osmolyte 50 g: ICP 24 before, lowest 15 after 15 min."
    (line,) = answers(telling(*read, (5, own), (6, FENTANYL)))
    assert line.startswith("14:06 Fentanyl 50 mcg: ICP 24 before")


def test_a_rate_that_is_set_is_something_done() -> None:
    """An infusion of a sedative that is started is told with the pressure after it."""
    read = icp((0, 24), (20, 15))
    run = InfusionStarted(drug="propofol", rate=4, unit="mg/kg/h")
    (line,) = answers(telling(*read, (5, run)))
    assert line.startswith("14:05 Propofol started at 4 mg/kg/h: ICP 24 before, lowest 15")


def test_no_pressure_is_compared_without_what_is_wrong_with_it() -> None:
    """Read after a failed zero, or never confirmed, a pressure says so before, lowest and at the end."""
    read = icp((1, 24), (20, 15), (50, 18))
    told = telling((0, ZeroFailed()), *read, (5, FENTANYL), unsure=(3,))
    (line,) = answers(told)
    unreliable = "(not to be relied on: zero failed 14:00)"
    assert line == (
        f"14:05 Fentanyl 50 mcg: ICP 24 before {unreliable}, lowest 15 after 15 min (unconfirmed) "
        f"{unreliable}, 18 at the end, still lower {unreliable}."
    )
