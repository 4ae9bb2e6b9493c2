"""What is past its order, told anew pressure by pressure and hour by hour, on random legs."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from hypothesis import given
from hypothesis import strategies as st

from tests.figures.conftest import entries
from tests.figures.consequences.told import START, at, leg_of, marked
from voice.entries.kinds.drain import ChamberEmptied, ChamberReading, Drained, Flushed, Pressure
from voice.entries.kinds.order import OrderHourlyLimit, OrderPressureLimit
from voice.entries.leg import EntryState, Leg, LegEntry
from voice.figures.consequences import remarks
from voice.figures.consequences.answers import as_of
from voice.figures.output import output_of

if TYPE_CHECKING:
    from datetime import datetime

    from voice.entries.kinds import Entry

MMHG_PER_CM = 98.0665 / 133.322
COUNTS = {EntryState.CONFIRMED, EntryState.UNCONFIRMED, EntryState.REVIEWED}


def leg(told: list[tuple[Entry, int, int, EntryState]]) -> Leg:
    """Entries by the minute at which they happened, each said so many minutes later than that."""
    said = 0.0
    found = []
    for e, (_, minute, late, state) in zip(
        entries(*((minute, entry) for entry, minute, _, _ in told)), told, strict=True
    ):
        said = max(said, minute + late)  # nothing is said before what was said before it
        found.append(e.model_copy(update={"spoken_at": at(said), "state": state}))
    return leg_of(tuple(found))


def legs(*kinds: st.SearchStrategy[Entry]) -> st.SearchStrategy[Leg]:
    """Random ones of these entries, in any order and of any state."""
    return st.lists(
        st.tuples(
            st.one_of(*kinds),
            st.integers(0, 170),
            st.sampled_from([0, 0, 0, 7, 45]),
            st.sampled_from([*COUNTS, EntryState.CONFIRMED, EntryState.WITHDRAWN]),
        ),
        max_size=16,
    ).map(leg)


def in_force(told: list[LegEntry]) -> list[Any]:
    """The last, and the last that somebody stands for, if that is another one."""
    sure = [e.entry for e in told if e.state in {EntryState.CONFIRMED, EntryState.REVIEWED}]
    return [told[-1].entry, *([] if told[-1].entry in sure[-1:] else sure[-1:])]


def mmhg(told: Pressure | OrderPressureLimit) -> float:
    """The same in mmHg, dust off."""
    return round(told.value * (MMHG_PER_CM if told.unit == "cmH2O" else 1), 9)


@given(
    legs(
        st.builds(Pressure, value=st.integers(15, 35), unit=st.sampled_from(["mmHg", "cmH2O"])),
        st.builds(
            OrderPressureLimit,
            side=st.just("above"),
            value=st.integers(18, 30),
            unit=st.sampled_from(["mmHg", "cmH2O"]),
        ),
    )
)
def test_each_pressure_above_its_own_limit_bears_the_mark(leg: Leg) -> None:
    """Marked are the pressures above the limit told last by then, or the confirmed one before it, and no other."""
    counting = sorted(
        (e for e in leg.entries if e.state in COUNTS), key=lambda e: (e.happened_at, e.number)
    )
    limits = [e for e in counting if isinstance(e.entry, OrderPressureLimit)]
    expected = set()
    for e in counting:
        if isinstance(e.entry, Pressure) and limits:
            told = [one for one in limits if one.happened_at <= e.happened_at]
            if mmhg(e.entry) > min(map(mmhg, in_force(told or limits[:1]))):
                expected.add(e.number)
    assert set(marked(leg, "pressure above the order")) == expected


def reached(leg: Leg) -> set[tuple[datetime, float]]:
    """Each clock hour that came to its limit, with that limit in mL."""
    orders = [e for e in leg.entries if isinstance(e.entry, OrderHourlyLimit) and e.state in COUNTS]
    orders.sort(key=lambda e: (e.happened_at, e.number))
    found: set[tuple[datetime, float]] = set()
    for hour, volume_ml in output_of(leg).by_hour if orders else ():
        told = [one for one in orders if one.happened_at < hour + timedelta(hours=1)]
        limit_ml = min(limit.volume_ml for limit in in_force(told or orders[:1]))
        if volume_ml >= limit_ml - 1e-6:
            found.add((hour, limit_ml))
    return found


@given(
    legs(
        st.builds(ChamberReading, volume_ml=st.integers(0, 60)),
        st.builds(Drained, volume_ml=st.integers(0, 20)),
        st.builds(ChamberEmptied, volume_ml=st.none() | st.integers(0, 60)),
        st.builds(Flushed, volume_ml=st.integers(1, 10)),
        st.builds(OrderHourlyLimit, volume_ml=st.integers(5, 25)),
    )
)
def test_no_hour_reaches_its_order_in_silence(leg: Leg) -> None:
    """The entry that brings an hour to its limit says so, whether the hour still runs or is over by then."""
    breaths = {e.spoken_at: e for e in leg.entries}  # each by its last entry, with which it is said
    before: set[tuple[datetime, float]] = set()
    for spoken_at, last in breaths.items():
        number = last.number
        after = reached(as_of(leg, number))
        said = [one for one in remarks(leg, number, spoken_at) if one.rule == "output at the order"]
        new = [hour for hour, _ in after - before if hour <= spoken_at]
        assert said or not new or last.state not in COUNTS
        before = after


def test_the_oracle_starts_with_the_leg() -> None:
    """A reading at 14:00 and one at 15:01 with 20 mL more are 19.67 mL in the first hour, short of 20."""
    told: list[tuple[Entry, int, int, EntryState]] = [
        (OrderHourlyLimit(volume_ml=20), 0, 0, EntryState.CONFIRMED),
        (ChamberReading(volume_ml=0), 0, 0, EntryState.CONFIRMED),
        (ChamberReading(volume_ml=20), 61, 0, EntryState.CONFIRMED),
    ]
    assert reached(leg(told)) == set()
    told[2] = (ChamberReading(volume_ml=21), 61, 0, EntryState.CONFIRMED)
    assert reached(leg(told)) == {(START, 20.0)}
