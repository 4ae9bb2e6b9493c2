"""The lines that a running leg shows."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from voice.commands.show import TONES, line
from voice.dialogue.actions import Confirm, Keep, Tone, Withdraw
from voice.dialogue.state import StateName
from voice.entries.kinds.drain import Pressure
from voice.entries.said import Statement
from voice.meaning.decision import (
    Accept,
    AskBetween,
    Decision,
    Doubt,
    Heard,
    NotForUs,
    NotUnderstood,
)
from voice.session.progress import (
    InTrouble,
    LegBegan,
    LegOver,
    Progress,
    SegmentHeard,
    Sounded,
    Spoken,
    Written,
)

AT = datetime(2031, 5, 1, 14, 0, 5, tzinfo=UTC)
ZONE = timezone(timedelta(hours=2))


def pressure(value: float) -> Statement:
    """A pressure, as a statement."""
    return Statement(entry=Pressure(value=value, unit="mmHg"))


FIFTEEN = Heard(text="pressure fifteen", meaning=pressure(15))
FIFTY = Heard(text="pressure fifty", meaning=pressure(50))


def heard(decision: Decision) -> SegmentHeard:
    """Something was said."""
    return SegmentHeard(AT, "pressure fifteen", decision, StateName.LISTENING)


@pytest.mark.parametrize(
    ("progress", "shown"),
    [
        (heard(Accept(heard=FIFTEEN)), 'heard    "pressure fifteen"'),
        (
            heard(AskBetween(first=FIFTEEN, second=FIFTY)),
            'heard    "pressure fifteen" or "pressure fifty"',
        ),
        (
            heard(NotUnderstood(doubt=Doubt.CUT)),
            "heard    not understood: it went on too long",
        ),
        (heard(NotForUs()), "heard    speech that is not for legbook"),
        (Spoken(AT, "pressure, one five"), "legbook  pressure, one five"),
        (Sounded(AT, Tone.KEPT), "legbook  (tone: kept)"),
        (
            Written(AT, Keep(1, "pressure fifteen", pressure(15))),
            "journal  entry 1: ICP 15 mmHg, unconfirmed",
        ),
        (
            Written(AT, Keep(2, "pressure fifteen", pressure(15), 1)),
            "journal  entry 2: ICP 15 mmHg, in place of entry 1, unconfirmed",
        ),
        (Written(AT, Confirm(2)), "journal  entry 2: confirmed"),
        (Written(AT, Withdraw(2, "no")), "journal  entry 2: withdrawn"),
        (LegBegan(AT, Path("legs/a")), "journal  leg a began"),
        (LegOver(AT, Path("legs/a")), "journal  leg a ended"),
        (InTrouble(AT, "The disk is full."), "trouble  The disk is full."),
    ],
)
def test_each_event_has_its_line(progress: Progress, shown: str) -> None:
    """A line tells the time of day on the leg's clock, who acts, and what is done."""
    assert line(progress, ZONE).plain == f"16:00:05  {shown}"


def test_each_tone_is_told_in_words() -> None:
    """No tone is shown without what it means."""
    assert set(TONES) == set(Tone)
