from __future__ import annotations

from typing import TYPE_CHECKING

from tests.figures.conftest import at, entries
from voice.entries.kinds.drain import DrainClamped, DrainOpened
from voice.entries.kinds.drain_care import DisconnectionStep, LineDisconnected
from voice.entries.kinds.leg import UnitCalled
from voice.entries.leg import EntryState
from voice.figures.disconnection import STEPS, disconnections

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

APART = LineDisconnected()
CLAMPED = DisconnectionStep(step="line clamped")
COVERED = DisconnectionStep(step="end covered")
CLEANED = DisconnectionStep(step="site cleaned")
CHANGED = DisconnectionStep(step="line changed")
RECONNECTED = DisconnectionStep(step="line reconnected")
CALLED = UnitCalled(whom="neurosurgeon")


def test_it_is_open_until_each_step_and_the_call_were_told() -> None:
    """What is still missing is named; with the last step it has ended, and says when."""
    told: list[tuple[float, Entry]] = [
        (10, APART),
        (11, CLAMPED),
        (12, COVERED),
        (13, CLEANED),
        (20, CHANGED),
        (22, CALLED),
    ]
    for done in range(len(STEPS)):
        (one,) = disconnections(entries(*told[: done + 1]))
        assert (one.at, one.missing, one.ended_at) == (at(10), STEPS[done:], None)
    (one,) = disconnections(entries(*told))
    assert (one.missing, one.ended_at) == ((), at(22))
    assert [(step, fact.at) for step, fact in one.done][-1] == ("call", at(22))


def test_the_line_is_changed_or_reconnected() -> None:
    """Either of the two is enough, and doing both counts from the first."""
    (one,) = disconnections(entries((0, APART), (5, RECONNECTED), (9, CHANGED)))
    assert dict(one.done)["line changed or reconnected"].at == at(5)


def test_clamping_the_drain_is_clamping_the_line() -> None:
    """A drain that is clamped after, or stands clamped already, needs no other clamp."""
    assert "line clamped" not in disconnections(entries((0, APART), (1, DrainClamped())))[0].missing
    before = entries((0, DrainClamped()), (5, APART))
    assert "line clamped" not in disconnections(before)[0].missing
    opened = entries((0, DrainClamped()), (3, DrainOpened()), (5, APART))
    assert "line clamped" in disconnections(opened)[0].missing


def test_only_a_call_for_help_is_the_call() -> None:
    """A word to the family or to dispatch is not the call; one made before it is none either."""
    told = entries((0, CALLED), (1, APART), (2, UnitCalled(whom="family")))
    assert "call" in disconnections(told)[0].missing
    told = entries((1, APART), (2, UnitCalled(whom="accepting unit")))
    assert "call" not in disconnections(told)[0].missing


def test_told_twice_is_one_and_after_the_repair_is_another() -> None:
    """Until the line is changed or reconnected it is the same one; afterwards it is a new one."""
    told = entries(
        (0, APART), (1, COVERED), (2, APART), (5, RECONNECTED), (40, APART), (41, CALLED)
    )
    first, second = disconnections(told)
    assert [(one.at, one.number) for one in (first, second)] == [(at(0), 1), (at(40), 5)]
    assert [step for step, _ in first.done] == ["end covered", "line changed or reconnected"]
    assert [step for step, _ in second.done] == ["call"]


def test_steps_without_a_disconnection_are_none() -> None:
    """A line that is changed without having come apart is no emergency."""
    assert disconnections(entries((0, CHANGED), (1, CALLED))) == ()


def test_what_does_not_count_opens_and_closes_nothing() -> None:
    """A withdrawn telling is no disconnection; an unconfirmed one is, and says so."""
    assert disconnections(entries((0, APART), state=EntryState.WITHDRAWN)) == ()
    (one,) = disconnections(entries((0, APART), state=EntryState.UNCONFIRMED))
    assert not one.confirmed
