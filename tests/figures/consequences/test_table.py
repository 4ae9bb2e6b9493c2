"""The table is whole, every rule can be told, and the page is drawn from it."""

from __future__ import annotations

from pathlib import Path
from string import Formatter
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.figures.consequences.told import START, at, changed, clock, icp, leg
from voice.entries.kinds.drain import (
    ChamberEmptied,
    ChamberReading,
    CsfClarity,
    CsfColour,
    DrainClamped,
    DrainLevel,
    DrainLevelled,
    DrainLevelMmhg,
    DrainOpened,
    DrainZeroed,
    DripsAt,
    Flushed,
    NoDrip,
    Pressure,
    ZeroFailed,
)
from voice.entries.kinds.drain_care import LineDisconnected
from voice.entries.kinds.order import OrderHourlyLimit, OrderPerfusionTarget, OrderPressureLimit
from voice.entries.kinds.patient import PatientEvent
from voice.entries.kinds.vitals import ArterialZeroed, HeartRate, MeanPressure
from voice.entries.leg import EntryState, Leg, LegSettings
from voice.figures.consequences import marks, open_states, remarks, to_settle
from voice.figures.consequences.draw import redrawn
from voice.figures.consequences.table import TABLE
from voice.meaning.grammar import load_grammar

if TYPE_CHECKING:
    from voice.entries.kinds import Entry
    from voice.figures.consequences.rule import Rule

PAGE = Path(__file__).parents[3] / "docs" / "consequences.md"
LONGEST_REMARK = 24
"""Words: about eight seconds of speech."""

TELLING: tuple[Entry, ...] = (
    icp(4),
    icp(14),
    icp(26),
    Pressure(value=18, unit="cmH2O"),
    ZeroFailed(),
    DrainZeroed(),
    DripsAt(level_cmh2o=9),
    NoDrip(level_cmh2o=10),
    DrainLevelMmhg(level_mmhg=15),
    DrainClamped(reason="reading"),
    DrainClamped(),
    DrainOpened(),
    ChamberEmptied(),
    ChamberReading(volume_ml=0),
    ChamberReading(volume_ml=12),
    Flushed(volume_ml=10),
    CsfColour(colour="red"),
    CsfColour(colour="pink"),
    CsfClarity(clarity="cloudy"),
    LineDisconnected(),
    PatientEvent(event="agitation"),
    MeanPressure(value_mmhg=80),
    HeartRate(rate_per_min=88),
    OrderPressureLimit(side="above", value=22, unit="mmHg"),
    OrderPressureLimit(side="below", value=5, unit="mmHg"),
    OrderHourlyLimit(volume_ml=10),
    OrderPerfusionTarget(value_mmhg=60),
    ArterialZeroed(reference="heart"),
    ArterialZeroed(),
    DrainLevelled(reference="tragus"),
)
"""Entries of which each starts, ends or touches a state."""

each_rule = pytest.mark.parametrize("rule", TABLE, ids=lambda rule: rule.name)


def test_names_are_told_apart() -> None:
    """No two rules have one name."""
    assert len({rule.name for rule in TABLE}) == len(TABLE)


@each_rule
def test_a_rule_is_told_in_full(rule: Rule) -> None:
    """It says how it starts, ends and is overruled, does something, and speaks only if it says when."""
    assert all((rule.starts, rule.ends, rule.overruled))
    assert rule.says or rule.open or rule.mark
    assert bool(rule.says) == bool(rule.at)
    assert "since" not in {name for _, name, _, _ in Formatter().parse(rule.says)}


legs = st.lists(
    st.tuples(st.integers(0, 90), st.sampled_from(TELLING), st.sampled_from(EntryState)),
    max_size=14,
)


@given(legs)
def test_any_leg_can_be_told(told: list[tuple[int, Entry, EntryState]]) -> None:
    """Whatever was said in whatever order: sentences are whole and short, marks are on what counts."""
    found = _leg(told)
    counting = {one.number for one in found.entries if one.counts}
    for number, sentences in marks(found).items():
        assert number in counting
        assert all(sentence.text(clock) for sentence in sentences)
    for sentence in open_states(found, at(91)):
        assert "{" not in sentence.text(clock)
        assert START <= sentence.since <= at(91)
    for number in counting:
        said = remarks(found, number, at(91))
        assert len(set(said)) == len(said)
        assert all(len(one.text.split()) <= LONGEST_REMARK for one in said)


@given(legs)
def test_what_does_not_count_has_no_consequence(told: list[tuple[int, Entry, EntryState]]) -> None:
    """Corrected and withdrawn entries change nothing that is listed or marked."""
    found = _leg(told)
    without = found.model_copy(update={"entries": tuple(e for e in found.entries if e.counts)})
    assert marks(found) == marks(without)
    assert open_states(found, at(91)) == open_states(without, at(91))


def _leg(told: list[tuple[int, Entry, EntryState]]) -> Leg:
    found = leg(*((minute, entry) for minute, entry, _ in told))
    for number, (_, _, state) in enumerate(told, 1):
        found = changed(found, number, state=state)
    return found


def test_remarks_are_of_an_entry_that_counts() -> None:
    """An entry that is not there, or was taken back, brings no remark."""
    told = leg((1, ZeroFailed()))
    assert remarks(told, 1, at(1))
    assert remarks(told, 2, at(1)) == ()
    assert remarks(changed(told, 1, state=EntryState.WITHDRAWN), 1, at(1)) == ()


def test_remarks_are_those_of_the_moment() -> None:
    """Gone through afterwards, an entry brings the remarks that it brought when it was kept."""
    told = leg((1, ZeroFailed()), (2, icp(14)), (3, DrainZeroed()))
    assert [one.rule for one in remarks(told, 1, at(1))] == ["zero failed"]


def test_a_state_that_opens_again_is_told_again() -> None:
    """A pressure corrected back past the limit is above it once more, and that is said."""
    limit = OrderPressureLimit(side="above", value=22, unit="mmHg")
    told = leg((0, limit), (1, icp(26)), (2, icp(16)), (2, icp(28)))
    told = changed(told, 3, state=EntryState.CORRECTED, replaced_by=4, was_confirmed=True)
    told = changed(told, 4, spoken_at=at(3))
    said = [[one.rule for one in remarks(told, number, at(2))] for number in (2, 3, 4)]
    assert said == [["pressure above the order"], [], ["pressure above the order"]]


def test_what_a_remark_asks_to_be_said_can_be_said() -> None:
    """Whatever stands after "say" at the end of a remark is a phrase that ends its state."""
    asked = [rule.says.split("? say ")[1] for rule in TABLE if "? say " in rule.says]
    grammar = load_grammar()
    assert len(asked) == 2
    for phrase in asked:
        assert len(grammar.parse(phrase, LegSettings())) == 1


def test_what_is_open_is_not_to_be_settled_as_well() -> None:
    """A level said in mmHg has to be settled only once a level was told; until then it is open."""
    told = leg((1, DrainLevelMmhg(level_mmhg=15)), (9, DrainLevel(level_cmh2o=20)))
    assert to_settle(told, at(5)) == ()
    assert [(number, one.rule) for number, one in to_settle(told, at(9))] == [(1, "level in mmHg")]


def test_what_asks_bears_a_mark() -> None:
    """Only a mark can have to be settled."""
    assert all(rule.mark for rule in TABLE if rule.asks)


def test_page_is_drawn_from_the_table() -> None:
    """Drawing docs/consequences.md anew changes nothing, and it names every rule."""
    page = PAGE.read_text("utf-8")
    assert redrawn(page) == page
    assert all(f"| {rule.name} |" in page for rule in TABLE)
