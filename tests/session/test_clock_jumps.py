"""A leg whose clock on the wall is set while it is broken off, from the first word to the summary."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import pytest

from tests.session import scripted
from tests.session.scripted import Said, Sitting, says
from voice.commands.export import Form, export_leg, prove
from voice.commands.handoff import summary_of
from voice.entries.leg import LegSettings
from voice.record.journal import Journal
from voice.record.shelf import load, verify
from voice.session.keeper import Keeper, Origin

if TYPE_CHECKING:
    from pathlib import Path

    from voice.capture.source import SourceError


class Jump(NamedTuple):
    """What the wall shows when the leg begins, and when it is gone on with; the start as the summary has it."""

    began: datetime
    went_on: datetime
    set_back: bool
    started: str
    opened: str
    """When the drain was opened, as the summary has it: soon after the leg went on."""


def wall(day: tuple[int, int, int], hour: int, minute: int, zone_h: int = 0) -> datetime:
    """A clock on the wall."""
    return datetime(*day, hour, minute, tzinfo=timezone(timedelta(hours=zone_h)))


MAY, LEAP, MARCH, WINTER = (2030, 5, 1), (2028, 2, 29), (2028, 3, 1), (2030, 10, 27)
JUMPS = {
    "none": Jump(wall(MAY, 12, 0), wall(MAY, 12, 20), False, "1 May 2030 12:00", "12:20"),
    "forwards": Jump(wall(MAY, 12, 0), wall(MAY, 13, 50), False, "1 May 2030 12:00", "13:50"),
    "backwards": Jump(wall(MAY, 12, 0), wall(MAY, 10, 30), True, "1 May 2030 12:00", "12:05"),
    "another zone": Jump(
        wall(MAY, 12, 0, 1), wall(MAY, 3, 20, -8), False, "1 May 2030 11:00", "11:20"
    ),
    "end of summer time": Jump(
        wall(WINTER, 2, 50, 2), wall(WINTER, 2, 10, 1), False, "27 October 2030 00:50", "01:10"
    ),
    "into the leap day": Jump(
        wall((2028, 2, 28), 23, 50), wall(LEAP, 0, 10), False, "28 February 2028 23:50",
        "29 February 00:10",
    ),
    "out of the leap day": Jump(
        wall(LEAP, 23, 50), wall(MARCH, 0, 10), False, "29 February 2028 23:50", "1 March 00:10"
    ),
    "back into the leap day": Jump(
        wall(MARCH, 0, 2), wall(LEAP, 23, 50), True, "1 March 2028 00:02", "00:07"
    ),
}  # fmt: skip
TOLD = "The clock was set back"


def sit(
    root: Path,
    now: datetime,
    events: list[Said | SourceError],
    monkeypatch: pytest.MonkeyPatch,
    journal: Journal | None = None,
) -> Sitting:
    """A sitting whose clock is read once, when it begins; then it is broken off, or the leg ends."""
    keeper = Keeper(Origin(root, LegSettings(), "g", "m"), journal)
    zero_at = now if journal is None else keeper.go_on(now)
    monkeypatch.setattr(scripted, "ZERO_AT", zero_at)
    sitting = Sitting(root, events, journal)
    sitting.keeper.troubles += keeper.troubles
    sitting.run()
    sitting.keeper.close()
    return sitting


@pytest.mark.parametrize("name", JUMPS)
def test_a_clock_that_is_set_between_takes_nothing_from_a_leg(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was said stands once, in its order, at moments that never run back; the summary tells the drain as it was said last.

    A clock that was set back is told: by voice, in the journal, and in the summary.
    """
    jump = JUMPS[name]
    first = sit(
        tmp_path, jump.began,
        says("start leg", "drain clamped", "confirm", Said("pressure fourteen", 120), "confirm",
             Said("drained twenty mils", 290), "confirm"),
        monkeypatch,
    )  # fmt: skip
    folder = first.keeper.folder
    second = sit(
        tmp_path, jump.went_on,
        says("drain open", "confirm", "drained thirty mils", "confirm",
             Said("pressure nineteen", 600), "confirm", "end leg", "end leg"),
        monkeypatch, Journal.open(folder, jump.went_on),
    )  # fmt: skip
    leg = load(folder)

    assert verify(folder).findings == ()
    assert [one.number for one in leg.entries] == [1, 2, 3, 4, 5, 6]
    assert all(one.spoken_at < next_.spoken_at for one, next_ in pairwise(leg.entries))
    assert {one.spoken_at.utcoffset() for one in leg.entries} == {timedelta(0)}
    assert any(TOLD in sentence for sentence in second.spoken) == jump.set_back
    assert any(TOLD in notice.text for notice in leg.notices) == jump.set_back

    after = leg.entries[-1].spoken_at.astimezone(UTC) + timedelta(minutes=5)
    with Journal.open(folder, after) as journal:
        journal.seal(after)
    summary = summary_of(folder, after)
    assert f"Started {jump.started}, ended" in summary
    assert "after -" not in summary
    assert f"Drain open since {jump.opened}." in summary
    assert "Last 19 at" in summary
    assert (TOLD in summary) == jump.set_back
    for form in (Form.JSON, Form.CSV):
        prove(folder, export_leg(folder, form)[0])
