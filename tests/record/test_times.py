from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice.entries.said import ClockTime, MinutesAgo
from voice.record.errors import EventRefusedError
from voice.record.times import WATCH_TOLERANCE, happened_at

DAY = timedelta(days=1)
moments = st.datetimes(datetime(2020, 1, 1), datetime(2040, 1, 1), timezones=st.just(UTC))  # noqa: DTZ001
zones = st.integers(-14 * 60, 14 * 60).map(lambda m: timezone(timedelta(minutes=m)))
clock_times = st.builds(ClockTime, hour=st.integers(0, 23), minute=st.integers(0, 59))


@given(moments, zones)
def test_now_where_nothing_was_said(spoken_at: datetime, zone: timezone) -> None:
    """Without a word about time an entry happened when it was spoken."""
    assert happened_at(None, spoken_at, zone) == spoken_at


@given(moments, zones, st.integers(1, 120))
def test_minutes_ago(spoken_at: datetime, zone: timezone, minutes: int) -> None:
    """Minutes ago are taken off the time of speaking, whatever the zone."""
    meant = happened_at(MinutesAgo(minutes=minutes), spoken_at, zone)
    assert spoken_at - meant == timedelta(minutes=minutes)


@given(moments, zones, clock_times)
def test_clock_time_is_past_and_reads_as_said(
    spoken_at: datetime, zone: timezone, said: ClockTime
) -> None:
    """A clock time lies in the half day before speaking and reads as said, or is now or refused."""
    local = spoken_at.astimezone(zone)
    that_day = local.replace(hour=said.hour, minute=said.minute, second=0, microsecond=0)
    to_come = (that_day - local) % DAY
    try:
        meant = happened_at(said, spoken_at, zone)
    except EventRefusedError:
        assert WATCH_TOLERANCE < to_come <= DAY / 2
        return
    assert spoken_at - DAY / 2 < meant <= spoken_at
    local = meant.astimezone(zone)
    if meant == spoken_at:
        ahead = (said.hour * 60 + said.minute) - (local.hour * 60 + local.minute)
        assert ahead % 1440 <= WATCH_TOLERANCE.total_seconds() / 60
    else:
        assert (local.hour, local.minute) == (said.hour, said.minute)


@pytest.mark.parametrize(
    ("spoken", "said", "expected"),
    [
        ("14:30", (14, 20), "2026-05-02T14:20"),
        ("00:10", (23, 55), "2026-05-01T23:55"),
        ("14:19", (14, 20), "2026-05-02T14:19"),
        ("23:58", (0, 1), "2026-05-02T23:58"),
        ("14:15", (14, 20), "2026-05-02T14:15"),
        ("12:00", (0, 1), "2026-05-02T00:01"),
    ],
)
def test_clock_time_by_hand(spoken: str, said: tuple[int, int], expected: str) -> None:
    """Midnight is crossed backwards, and a watch up to five minutes fast means now."""
    zone = timezone(timedelta(hours=2))
    spoken_at = datetime.fromisoformat(f"2026-05-02T{spoken}+02:00")
    meant = happened_at(ClockTime(hour=said[0], minute=said[1]), spoken_at, zone)
    assert meant == datetime.fromisoformat(f"{expected}+02:00")


@pytest.mark.parametrize("said", [(14, 20), (0, 15), (2, 14)])
def test_a_time_to_come_is_refused(said: tuple[int, int]) -> None:
    """A clock time more than five minutes ahead is refused and never filed under yesterday."""
    spoken_at = datetime.fromisoformat("2026-05-02T14:14+00:00")
    with pytest.raises(EventRefusedError, match="is still to come"):
        happened_at(ClockTime(hour=said[0], minute=said[1]), spoken_at, UTC)
