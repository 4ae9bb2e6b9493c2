"""The leg at a glance."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.figures.conftest import at
from tests.report.answers.legs import leg_of
from tests.report.legs import GOLDEN, LEGS, read_leg
from voice.entries.kinds.drain import DrainClamped, Pressure
from voice.entries.kinds.drain_care import CatheterOut
from voice.entries.kinds.vitals import HeartRate
from voice.entries.leg import EntryState, Notice
from voice.report.screen import LAST, NARROWEST, TROUBLE, screen

if TYPE_CHECKING:
    from pathlib import Path

TROUBLED = """\
00:40  LISTENING

DRAIN    CLOSED 20 min, since 00:20
LEVEL    5 cmH2O below midbrow
OUT      0 mL since 00:00
ZERO     FAILED 1 h 5 min, since 23:35

LAST
00:22    Bag changed
00:21    Sodium 142 mmol/L
00:20    Drain clamped
00:18    Chamber at 6 mL

3 UNCONFIRMED
00:05    Heart rate 112 /min
23:45    Chamber at 12 mL
23:16    ICP 24.5 mmHg"""

CARED_FOR = """\
16:40  WAITS FOR CONFIRM

DRAIN    CATHETER OUT 10 min,
         since 16:30
LEVEL    10 cmH2O above tragus
         order: drain open at 15
         cmH2O above tragus
OUT      not told since 16:00,
         order at most 20 mL
ZERO     FAILED 1 h 14 min,
         since 15:26

LAST
16:30    Catheter out
16:28    Drain level 10 cmH2O
         above tragus
16:26    Chamber upright
16:25    Tubing coiled and taped

1 UNCONFIRMED
14:02    Order: clamped at most
         30 min at a time"""


@pytest.mark.parametrize(
    ("name", "talk", "width", "shown"),
    [
        ("troubled", "listening", 60, TROUBLED),
        ("drain_care", "waits for confirm", 32, CARED_FOR),
    ],
)
def test_the_leg_is_shown_as_it_stands(name: str, talk: str, width: int, shown: str) -> None:
    """The drain, its level, output and zero, the last entries, and what nobody confirmed."""
    leg, now = read_leg(GOLDEN / f"{name}.toml")
    assert screen(leg, talk, now, width) == shown


@pytest.mark.parametrize("path", LEGS, ids=lambda path: path.stem)
@pytest.mark.parametrize("width", [5, NARROWEST, 40, 80])
def test_no_line_is_wider_than_the_screen(path: Path, width: int) -> None:
    """Every line fits, in plain characters that any terminal has."""
    leg, now = read_leg(path)
    text = screen(leg, "listening", now, width)
    assert max(map(len, text.splitlines())) <= max(width, NARROWEST)
    assert text.replace("\n", "").isprintable()


def test_without_a_leg_only_the_talk_is_shown() -> None:
    """Before "start leg" there is nothing to tell but how to begin."""
    assert screen(None, "no leg, say start leg", at(0), 40) == "NO LEG, SAY START LEG"


def test_what_was_taken_back_is_not_shown() -> None:
    """A withdrawn entry stands neither among the last nor among the unconfirmed."""
    leg = leg_of((5, Pressure(value=14, unit="mmHg")), state=EntryState.WITHDRAWN)
    text = screen(leg, "listening", at(6), 40)
    assert "ICP" not in text
    assert "UNCONFIRMED" not in text


def test_many_unconfirmed_are_counted() -> None:
    """Of many unconfirmed entries the latest are shown, and how many more there are."""
    told = [(float(n), HeartRate(rate_per_min=80 + n)) for n in range(2 * LAST + 3)]
    text = screen(leg_of(*told, state=EntryState.UNCONFIRMED), "listening", at(20), 40)
    assert "11 UNCONFIRMED" in text
    assert text.endswith("and 3 more")


def test_trouble_is_shown_for_a_while() -> None:
    """Trouble of the program stands above the drain, and goes when it is old."""
    told = leg_of().model_copy(update={"notices": (Notice(at=at(5), text="No microphone."),)})
    assert "TROUBLE  14:05 No microphone." in screen(told, "listening", at(6), 40)
    assert "TROUBLE" not in screen(told, "listening", at(5) + TROUBLE, 40)


def test_a_drain_whose_catheter_came_out_is_neither_open_nor_closed() -> None:
    """The first line of the drain says that the catheter is out, and since when."""
    leg = leg_of((1, DrainClamped(reason="scan")), (5, CatheterOut()))
    assert "DRAIN    CATHETER OUT 5 min, since 14:05" in screen(leg, "listening", at(10), 60)
