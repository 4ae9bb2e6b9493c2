"""Reminders in the talk: said in between, acknowledged, postponed."""

from __future__ import annotations

import pytest

from tests.dialogue.talking import CLOSED, Talking, started
from voice.dialogue.actions import Confirm, Remind, Say
from voice.dialogue.state import StateName
from voice.entries.reminder import ReminderKey

DOSE = ReminderKey(rule="dose due", since=CLOSED.key.since, about="cefazolin")


def reminded() -> Talking:
    """A talk in which a reminder has just been said."""
    talking = started()
    talking.on(CLOSED)
    return talking


def test_reminder_is_noted_as_said_and_spoken_before_the_read_back_comes_again() -> None:
    """What is due is said in between; what waits is read back again, and "confirm" is for it."""
    talking = started()
    talking.hears("pressure fourteen")
    assert talking.on(CLOSED) == (
        Remind(CLOSED.key, "said", CLOSED.sentence),
        Say(CLOSED.sentence),
        Say("pressure, one four"),
    )
    assert talking.hears("confirm")[0] == Confirm(1)


def test_reminder_waits_for_a_note() -> None:
    """Nothing is spoken into a note."""
    talking = started()
    talking.hears("take a note")
    assert talking.on(CLOSED) == ()


def test_reminder_is_acknowledged_by_its_name() -> None:
    """What was acknowledged is named, so that nothing is acknowledged unheard; then it is done with."""
    talking = reminded()
    assert talking.hears("reminder noted") == (
        Remind(CLOSED.key, "acknowledged", "reminder noted"),
        Say("noted: drain closed"),
    )
    assert talking.says("reminder noted") == "no reminder to answer"


@pytest.mark.parametrize(
    ("text", "minutes", "spoken"),
    [
        ("remind me later", 10, "one zero"),
        ("later twenty minutes", 20, "two zero"),
        ("remind me in five minutes", 5, "five"),
        ("remind me again later one five minutes", 15, "one five"),
    ],
)
def test_reminder_is_postponed(text: str, minutes: int, spoken: str) -> None:
    """By ten minutes, or by as many as were said; that is told with its name, then it is done with."""
    talking = reminded()
    assert talking.hears(text) == (
        Remind(CLOSED.key, "postponed", "remind me later", minutes),
        Say(f"drain closed: again in {spoken} minutes"),
    )
    assert talking.says("remind me later") == "no reminder to answer"


def test_what_tells_reminders_apart_is_named() -> None:
    """A dose is named with its drug."""
    talking = started()
    talking.on(type(CLOSED)(DOSE, "cefazolin eight hours ago"))
    assert talking.says("reminder noted") == "noted: dose due, cefazolin"


def test_answer_to_a_reminder_leaves_what_waits() -> None:
    """What waits to be confirmed is read back again after it, and is confirmed by "confirm" only."""
    talking = reminded()
    talking.hears("pressure fourteen")
    assert talking.says("reminder noted") == "noted: drain closed / pressure, one four"
    assert talking.state.name is StateName.CONFIRMING
    assert talking.hears("confirm")[0] == Confirm(1)


def test_confirm_is_no_answer_to_a_reminder() -> None:
    """The word "confirm" is for an entry that was read back, and for nothing else."""
    talking = reminded()
    assert talking.says("confirm") == "nothing to confirm"
    assert talking.state.reminded == CLOSED.key
