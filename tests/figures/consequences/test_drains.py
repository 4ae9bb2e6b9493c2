from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.figures.consequences.told import (
    at,
    changed,
    icp,
    leg,
    marked,
    open_now,
    said,
    said_at,
)
from voice.entries.kinds.drain import (
    DrainClamped,
    DrainLevel,
    DrainLevelled,
    DrainLevelMmhg,
    DrainOpened,
)
from voice.entries.kinds.drain_care import (
    CatheterOut,
    DisconnectionStep,
    LineDisconnected,
    Stopcocks,
)
from voice.entries.kinds.leg import UnitCalled
from voice.entries.kinds.order import OrderDrain
from voice.entries.kinds.vitals import HeartRate
from voice.entries.leg import EntryState, LegSettings

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

OPEN = DrainOpened()
READING = DrainClamped(reason="reading")
CLAMPED = DrainClamped()
PULSE = HeartRate(rate_per_min=88)
APART = LineDisconnected()
CALLED = UnitCalled(whom="neurosurgeon")
STEPS = ("line clamped", "end covered", "site cleaned", "line changed")
OFFER = (
    "no order told; the programme's usual level is 15 cmH2O above tragus; "
    "say the drain level, or the order"
)
NOTHING_DONE = (
    "line disconnected, not yet told: line clamped, end covered, site cleaned, "
    "line changed or reconnected, call"
)
STILL_CLOSED = "the drain was closed for the reading; is it open again? say drain open"


# --- level and order ---------------------------------------------------------------------------


def test_a_level_in_mmhg_is_asked_about_until_one_in_cmh2o() -> None:
    """Each level said in mmHg is asked about and marked; it is open until a level is told."""
    wrong = DrainLevelMmhg(level_mmhg=15)
    told = leg((1, wrong), (2, PULSE), (3, wrong), (9, DrainLevel(level_cmh2o=20)))
    assert said_at(told, "level in mmHg") == [1, 3]
    assert said(told, "level in mmHg", 1) == [
        "levels are set in cmH2O; 15 mmHg is kept as said, and not taken for the level"
    ]
    assert list(marked(told, "level in mmHg")) == [1, 3]
    assert len(open_now(told, "level in mmHg", 8.9)) == 2
    assert open_now(told, "level in mmHg", 9) == []


@pytest.mark.parametrize("use", [OPEN, DrainLevelled()])
def test_without_level_and_order_the_usual_level_is_offered(
    use: DrainOpened | DrainLevelled,
) -> None:
    """The programme's level is offered once, with the first opening or levelling."""
    told = leg((1, icp(14)), (2, use), (3, CLAMPED), (4, OPEN))
    assert said_at(told, "no level") == [2]
    assert said(told, "no level", 2) == [OFFER]
    assert open_now(told, "no level")
    assert open_now(told, "no order")


def test_the_usual_level_is_the_programmes() -> None:
    """What is offered is the leg's setting."""
    told = leg((2, OPEN), settings=LegSettings(usual_level_cmh2o=10, usual_reference="midbrow"))
    assert "10 cmH2O above midbrow" in said(told, "no level")[0]


def test_a_level_that_was_told_is_enough_for_the_level_only() -> None:
    """With a level told before nothing is offered, but the order is still listed as missing."""
    told = leg((1, DrainLevel(level_cmh2o=10)), (2, OPEN))
    assert said_at(told, "no level") == []
    assert open_now(told, "no level") == []
    assert open_now(told, "no order") == ["No order for the drain told"]


@pytest.mark.parametrize("minute", [1, 2, 5])
def test_an_order_ends_both(minute: float) -> None:
    """An order told before, with or after the opening ends what is open of level and order."""
    told = leg((2, OPEN), (minute, OrderDrain(state="open", level_cmh2o=10)))
    assert open_now(told, "no level") == []
    assert open_now(told, "no order") == []


def test_an_unused_drain_needs_no_order() -> None:
    """Nothing is missing while the drain was neither opened, levelled nor given a level."""
    told = leg((1, CLAMPED), (2, icp(14)))
    assert open_now(told, "no level") == []
    assert open_now(told, "no order") == []


def test_a_level_in_the_same_breath_is_in_time() -> None:
    """Opened and given its level in one breath, the drain is offered no other."""
    assert said_at(leg((2, OPEN), (2, DrainLevel(level_cmh2o=10))), "no level") == []


# --- closed ------------------------------------------------------------------------------------


def test_a_drain_left_closed_after_a_reading_is_told_with_the_next_entry() -> None:
    """What follows the pressure and is no reopening brings the remark, once."""
    told = leg((1, READING), (2, icp(14)), (3, PULSE), (4, PULSE))
    assert said_at(told, "closed after a reading") == [3]
    assert said(told, "closed after a reading", 3) == [STILL_CLOSED]


def test_a_reopening_in_time_is_quiet() -> None:
    """Opened right after the reading, nothing is said or open."""
    told = leg((1, READING), (2, icp(14)), (3, OPEN), (4, PULSE))
    assert said_at(told, "closed after a reading") == []
    assert open_now(told, "closed after a reading") == []


def test_what_is_said_in_one_breath_is_not_the_next_entry() -> None:
    """Values told together with the pressure bring no remark; the next breath does, at its end."""
    told = leg((1, READING), (2, icp(14)), (2, PULSE), (3, PULSE), (3, PULSE))
    assert said_at(told, "closed after a reading") == [5]


def test_a_clamping_without_a_reason_may_be_for_a_reading() -> None:
    """With a pressure within 5 min it was; with one later, or none, it was not."""
    assert open_now(leg((1, CLAMPED), (6, icp(14))), "closed after a reading")
    assert not open_now(leg((1, CLAMPED), (6.1, icp(14))), "closed after a reading")
    assert not open_now(leg((1, CLAMPED)), "closed after a reading")
    assert not open_now(
        leg((1, DrainClamped(reason="transfer")), (2, icp(14))), "closed after a reading"
    )


@pytest.mark.parametrize(
    "ending",
    [
        OPEN,
        DrainClamped(reason="transfer"),
        Stopcocks(position="off"),
        CatheterOut(),
        OrderDrain(state="clamped"),
    ],
    ids=lambda one: one.kind,
)
def test_what_ends_a_drain_closed_for_a_reading(ending: Entry) -> None:
    """Opening it, another reason, the move, an order to clamp, or no catheter: nothing is open."""
    told = leg((1, READING), (2, icp(14)), (9, ending))
    assert open_now(told, "closed after a reading", 8.9)
    assert not open_now(told, "closed after a reading", 9)


def test_stopcocks_on_open_no_drain_that_a_clamp_closes() -> None:
    """As in the figures, the drain that was clamped for a reading stays closed, and is listed so."""
    told = leg((1, READING), (2, icp(14)), (9, Stopcocks(position="on")))
    assert open_now(told, "closed after a reading", 10)


def test_a_drain_that_is_ordered_clamped_is_not_told_to_be_closed() -> None:
    """Under an order to clamp a reading leaves nothing open; after one to open, or one in doubt, it does."""
    clamped, opened = OrderDrain(state="clamped"), OrderDrain(state="open")
    assert not open_now(leg((0, clamped), (1, READING), (2, icp(14))), "closed after a reading")
    told = leg((0, clamped), (0.5, opened), (1, READING), (2, icp(14)))
    assert open_now(told, "closed after a reading")
    doubtful = leg((0, clamped), (1, READING), (2, icp(14)))
    doubtful = changed(doubtful, 1, state=EntryState.UNCONFIRMED)
    assert open_now(doubtful, "closed after a reading")


def test_a_reopening_told_late_counts_from_when_it_was() -> None:
    """Said ten minutes later with its time, the reopening ends it then."""
    told = leg((1, READING), (2, icp(14)), (3, OPEN), (30, PULSE))
    told = changed(told, 3, spoken_at=at(20))
    assert open_now(told, "closed after a reading", 10) == []


def test_a_reopening_that_is_withdrawn_leaves_it_open() -> None:
    """What was scratched never ended anything."""
    told = leg((1, READING), (2, icp(14)), (3, OPEN))
    assert open_now(changed(told, 3, state=EntryState.WITHDRAWN), "closed after a reading")
    assert not open_now(changed(told, 3, state=EntryState.UNCONFIRMED), "closed after a reading")


# --- disconnected ------------------------------------------------------------------------------


def steps(*names: str, start: float = 2) -> tuple[tuple[float, DisconnectionStep], ...]:
    """Steps told one a minute."""
    return tuple(
        (start + place, DisconnectionStep.model_validate({"step": name}))
        for place, name in enumerate(names)
    )


def test_a_disconnection_is_told_with_each_entry_until_all_is_done() -> None:
    """Every entry in between is followed by what was not told yet; the last one is not."""
    told = leg((1, APART), *steps(*STEPS), (8, PULSE), (9, CALLED), (10, PULSE))
    assert said_at(told, "line disconnected") == [1, 2, 3, 4, 5, 6]
    assert said(told, "line disconnected", 1) == [NOTHING_DONE]
    assert said(told, "line disconnected", 6) == ["line disconnected, not yet told: call"]
    assert marked(told, "line disconnected") == {}
    assert open_now(told, "line disconnected") == []


@pytest.mark.parametrize("missing", [*STEPS, "call"])
def test_each_step_and_the_call_are_needed(missing: str) -> None:
    """Without any one of them the disconnection is open, listed and marked."""
    called = () if missing == "call" else ((9, CALLED),)
    told = leg((1, APART), *steps(*(s for s in STEPS if s != missing)), *called)
    name = "line changed or reconnected" if missing == "line changed" else missing
    assert open_now(told, "line disconnected") == [f"Line disconnected at 14:01, not told: {name}"]
    assert marked(told, "line disconnected") == {1: f"not told: {name}"}


def test_a_withdrawn_disconnection_is_none() -> None:
    """An emergency that was scratched is over."""
    told = changed(leg((1, APART), (2, PULSE)), 1, state=EntryState.WITHDRAWN)
    assert said(told, "line disconnected") == []
    assert open_now(told, "line disconnected") == []
