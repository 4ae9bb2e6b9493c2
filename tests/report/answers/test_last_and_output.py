from __future__ import annotations

from datetime import timedelta

from tests.report.legs import GOLDEN, read_leg
from voice.entries.kinds.drain import ChamberReading, Pressure
from voice.entries.leg import EntryState
from voice.entries.said import About, Question
from voice.report.answers import answer

LAST, TOTAL, HOURLY = (
    Question(about=about) for about in (About.LAST_ENTRY, About.TOTAL_OUTPUT, About.HOURLY_OUTPUT)
)


def test_read_last_reads_the_last_that_counts() -> None:
    """The last entry neither corrected nor withdrawn is read back with its time by the leg's clock."""
    leg, now = read_leg(GOLDEN / "troubled.toml")
    assert answer(LAST, leg, now) == "last, bag changed, at zero zero two two"
    earlier = leg.model_copy(update={"entries": leg.entries[:26]})
    assert answer(LAST, earlier, now) == "last, note, at zero zero zero six"


def test_read_last_says_when_it_was_not_confirmed() -> None:
    """An unconfirmed entry is read as such, its value digit by digit."""
    leg, now = read_leg(GOLDEN / "quiet.toml")
    entry = leg.entries[0].model_copy(
        update={"entry": Pressure(value=15, unit="mmHg"), "state": EntryState.UNCONFIRMED}
    )
    doubtful = leg.model_copy(update={"entries": (entry,)})
    spoken = answer(LAST, doubtful, now)
    assert spoken == "last, pressure, one five, unconfirmed, at one four zero one"


def test_total_out_says_total_and_this_hour() -> None:
    """The total and the running clock hour's share are said digit by digit."""
    leg, now = read_leg(GOLDEN / "quiet.toml")
    expected = "total out, one zero mils, this hour, one zero mils"
    assert answer(TOTAL, leg, now) == expected
    later = answer(TOTAL, leg, now + timedelta(hours=1))
    assert later == "total out, one zero mils"


def test_total_out_says_what_is_in_doubt() -> None:
    """Unconfirmed entries behind the total and open questions are mentioned."""
    leg, now = read_leg(GOLDEN / "troubled.toml")
    spoken = answer(TOTAL, leg, now)
    assert spoken.startswith("total out, one two mils, this hour, zero mils")
    assert spoken.endswith("one entry unconfirmed, with a question: see the summary")


def test_two_unconfirmed_are_two_entries() -> None:
    """More than one entry is in the plural."""
    leg, now = read_leg(GOLDEN / "quiet.toml")
    doubtful = tuple(
        e.model_copy(update={"state": EntryState.UNCONFIRMED})
        for e in leg.entries
        if isinstance(e.entry, ChamberReading)
    )
    spoken = answer(TOTAL, leg.model_copy(update={"entries": doubtful}), now)
    assert "three entries unconfirmed" in spoken


def test_nothing_told_is_said() -> None:
    """Of a leg without entries there is nothing to read."""
    leg, now = read_leg(GOLDEN / "nothing_told.toml")
    assert answer(LAST, leg, now) == "nothing kept yet"
    assert answer(TOTAL, leg, now) == answer(HOURLY, leg, now) == "no output told yet"


def test_hourly_output_tells_the_latest_hour_first() -> None:
    """Each clock hour is named by its start, with what drained in it."""
    leg, now = read_leg(GOLDEN / "quiet.toml")
    assert answer(HOURLY, leg, now) == "from one four zero zero, one zero mils"


def test_more_hours_than_can_be_kept_in_mind_come_in_parts() -> None:
    """Twelve hours are told in two parts, and after the last there is no more."""
    leg, now = read_leg(GOLDEN / "quiet.toml")
    readings = [e for e in leg.entries if isinstance(e.entry, ChamberReading)]
    first, last = readings[0], readings[-1]
    late = last.model_copy(update={"happened_at": first.happened_at + timedelta(hours=11)})
    long = leg.model_copy(update={"entries": (first, late)})
    told = answer(HOURLY, long, now)
    assert told.startswith("from zero one zero zero")
    assert told.endswith("; say next part")
    assert "from one four zero zero" in answer(HOURLY, long, now, 1)
    assert "next part" not in answer(HOURLY, long, now, 1)
    assert answer(HOURLY, long, now, 2) == "no more to read"
