"""A clock that jumps takes nothing from a leg: order is that of the journal, and times are as they were given."""

from __future__ import annotations

import tempfile
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.record.conftest import kept
from voice.entries.leg import LegSettings
from voice.entries.said import MinutesAgo
from voice.record.journal import Journal
from voice.record.shelf import free_leg_id, load, verify
from voice.record.times import happened_at

ZONES = st.integers(-12 * 60, 14 * 60).map(lambda m: timezone(timedelta(minutes=m)))
CLOCKS = st.datetimes(
    datetime(2027, 12, 30),  # noqa: DTZ001 - the zone is drawn beside it
    datetime(2028, 3, 2),  # noqa: DTZ001
    timezones=ZONES,
)
"""Around a turn of the year and the leap day of 2028, by the clocks of the whole world."""


@settings(max_examples=12)
@given(st.lists(CLOCKS, min_size=2, max_size=6))
def test_jumps_of_the_clock_lose_nothing(clocks: list[datetime]) -> None:
    """Whenever and wherever the clock jumps, each entry is kept with its moment, in the order of speaking."""
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary) / "leg"
        start, *later = clocks
        Journal.create(folder, LegSettings(), start, grammar_digest="", model_digest="").close()
        for number, now in enumerate(later, 1):
            entry = kept(number).model_copy(
                update={"at": now, "spoken_at": now, "happened_at": now}
            )
            with Journal.open(folder, now) as journal:
                journal.append(entry)
        assert verify(folder).findings == ()
        assert [one.spoken_at for one in load(folder).entries] == later
        assert {one.spoken_at.utcoffset() for one in load(folder).entries} == {timedelta(0)}


def test_a_leg_over_the_leap_day() -> None:
    """Ten minutes ago, early on 1 March of a leap year, was 29 February."""
    spoken_at = datetime(2028, 3, 1, 0, 5, tzinfo=UTC)
    meant = happened_at(MinutesAgo(minutes=10), spoken_at, UTC)
    assert meant == datetime(2028, 2, 29, 23, 55, tzinfo=UTC)


def test_legs_of_one_minute_have_ids_of_their_own(tmp_path: Path) -> None:
    """Where the clock shows one minute again, the second leg does not write into the first."""
    now = datetime(2028, 2, 29, 2, 30, tzinfo=UTC)
    for expected in ("2028-02-29-0230", "2028-02-29-0230-2", "2028-02-29-0230-3"):
        leg_id = free_leg_id(tmp_path, now)
        assert leg_id == expected
        (tmp_path / leg_id).mkdir()
