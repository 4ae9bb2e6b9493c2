"""What is shown while a leg runs."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pytest
from rich.console import Console

from tests.figures.conftest import at
from tests.report.answers.legs import leg_of
from voice.commands.watch import CLEAR, Glance, Lines
from voice.dialogue.state import StateName
from voice.entries.kinds.drain import DrainClamped, Pressure
from voice.session.progress import LegOver, MinutePassed, Spoken

if TYPE_CHECKING:
    from pathlib import Path

    from voice.entries.leg import Leg


@dataclass
class Sitting:
    """Where a session stands."""

    state: StateName = StateName.LISTENING
    leg: Leg | None = None


def glance(sitting: Sitting, *, terminal: bool) -> tuple[Glance, io.StringIO]:
    """The screen of a sitting, 40 columns wide, and what it shows."""
    shown = io.StringIO()
    out = Console(file=shown, force_terminal=terminal, width=40, highlight=False)
    return Glance(out, sitting, lambda: 40), shown


@pytest.mark.parametrize("state", StateName)
def test_every_state_has_words(state: StateName) -> None:
    """Wherever the talk stands, the screen says it."""
    watch, shown = glance(Sitting(state), terminal=False)
    watch.show(Spoken(at(0), "listening"))
    assert shown.getvalue().strip()


def test_only_what_changes_is_drawn() -> None:
    """The same screen is not drawn twice; a minute later the times are others."""
    leg = leg_of((5, DrainClamped()))
    watch, shown = glance(Sitting(leg=leg), terminal=False)
    for _ in range(3):
        watch.show(Spoken(at(6), "pressure, one four"))
    watch.show(MinutePassed(at(7)))
    assert shown.getvalue().count("DRAIN    CLOSED 1 min") == 1
    assert shown.getvalue().count("DRAIN    CLOSED 2 min") == 1


def test_a_terminal_is_emptied_and_a_file_is_not() -> None:
    """What was shown makes room on a terminal; a file or pipe gets text and no signs of a terminal."""
    leg = leg_of((5, Pressure(value=14, unit="mmHg")))
    for terminal in (True, False):
        watch, shown = glance(Sitting(leg=leg), terminal=terminal)
        watch.show(Spoken(at(6), "pressure, one four"))
        assert (CLEAR in shown.getvalue()) is terminal
        assert ("\x1b" in shown.getvalue()) is terminal
        assert "ICP 14 mmHg" in shown.getvalue()


def test_the_summary_is_not_covered(tmp_path: Path) -> None:
    """With the end of the leg nothing more is drawn: its summary follows."""
    watch, shown = glance(Sitting(StateName.ASLEEP), terminal=True)
    watch.show(LegOver(at(40), tmp_path))
    assert shown.getvalue() == ""


def test_lines_pass_over_the_minutes() -> None:
    """In the log of events nothing is shown for time that goes on."""
    shown = io.StringIO()
    watch = Lines(Console(file=shown, width=80), at(0).tzinfo or pytest.fail("a naive time"))
    watch.show(MinutePassed(at(1)))
    watch.show(Spoken(at(1), "drain open"))
    assert shown.getvalue().split() == ["14:01:00", "legbook", "drain", "open"]
