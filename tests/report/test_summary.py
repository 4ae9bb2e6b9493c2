from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from tests.report.legs import GOLDEN, LEGS, read_leg
from tests.report.test_wording import EXPECTED
from voice.entries.kinds.checks import CheckAnswer
from voice.entries.kinds.neuro import ComaParts, ComaScore
from voice.entries.kinds.vitals import BloodPressure, MeanPressure
from voice.entries.leg import DAMAGE, EntryState, LegEntry, Notice
from voice.report.page.content import page
from voice.report.summary import WIDTH, summary_text
from voice.report.wording import entry_text

if TYPE_CHECKING:
    from pathlib import Path

    from voice.entries.kinds import Entry

each_leg = pytest.mark.parametrize("path", LEGS, ids=lambda path: path.stem)


@each_leg
def test_the_summary_is_the_golden_one(path: Path) -> None:
    """The summary of an invented leg is, to the letter, the one that was read and approved."""
    assert summary_text(*read_leg(path)) == path.with_suffix(".txt").read_text("utf-8")


@each_leg
def test_it_fits_the_page_and_ends_with_the_caution(path: Path) -> None:
    """No line is wider than the page, and the caution is the last thing that is read."""
    text = summary_text(*read_leg(path))
    assert max(map(len, text.splitlines())) <= WIDTH
    flat = " ".join(text.split())
    assert flat.endswith(
        "Caution legbook records and reminds; it never orders care: local protocol, the written order "
        "and licensed judgement come first."
    )


IN_ORDER = (
    "Who and why", "Line", "The order", "Open now", "The drain now", "Intracranial pressure, mmHg",
    "Cerebral perfusion pressure, mmHg", "Output and look", "Clamped", "Neuro checks", "Vital signs",
    "Drugs", "Laboratory", "Trouble, and what was done", "To be settled", "Unconfirmed",
    "Times of the leg", "Every entry", "Method", "Caution",
)  # fmt: skip


@each_leg
def test_the_order_is_that_of_a_spoken_handoff(path: Path) -> None:
    """Who and why, line, order, state, pressures, output, neuro, vital signs, drugs … caution last."""
    text = summary_text(*read_leg(path))
    titles = [line for line in text.splitlines() if line and not line.startswith(" ")]
    assert [t for t in titles if t in IN_ORDER] == [t for t in IN_ORDER if t in titles]


@each_leg
def test_every_entry_is_there_with_its_state(path: Path) -> None:
    """Whatever its state, each entry is in the list, and none in doubt looks like a sure one."""
    leg, now = read_leg(path)
    _, listed = summary_text(leg, now).split("\nEvery entry\n  ")
    rows = re.split(r"\n  (?=\d)", listed.split("\n\n")[0])
    assert len(rows) == max(len(leg.entries), 1)
    for entry, row in zip(leg.entries, rows, strict=False):
        assert row.startswith(f"{entry.number}: ")
        assert entry_text(entry.entry) in row
        for state in EntryState:
            if state is not EntryState.CONFIRMED:
                assert (state in row) == (entry.state is state)


def test_a_running_leg_counts_up_to_now() -> None:
    """What has not ended yet is longer a minute later."""
    leg, now = read_leg(GOLDEN / "troubled.toml")
    later = " ".join(summary_text(leg, now + timedelta(minutes=1)).split())
    assert "111 min so far" in later
    assert "still clamped, 21 min" in later


def test_the_date_stands_with_times_of_another_day_only() -> None:
    """Which day it is goes by the leg's own clock."""
    leg, now = read_leg(GOLDEN / "troubled.toml")
    settings = leg.settings.model_copy(update={"utc_offset_min": 600})
    text = summary_text(leg.model_copy(update={"settings": settings}), now)
    assert "Started 2 May 2026 06:50" in text
    assert text.count("2 May") == 1


def test_pressures_too_far_apart_are_not_called_untold() -> None:
    """Where ICP and arterial pressure were both told but never together, the summary says that."""
    leg, now = read_leg(GOLDEN / "quiet.toml")
    late = leg.entries[0].model_copy(
        update={
            "entry": BloodPressure(systolic_mmhg=120, diastolic_mmhg=80),
            "happened_at": now - timedelta(minutes=1),
        }
    )
    told = [e for e in leg.entries if not isinstance(e.entry, MeanPressure | BloodPressure)]
    text = summary_text(leg.model_copy(update={"entries": (*told, late)}), now)
    assert "Cerebral perfusion pressure, mmHg\n  No ICP within 5 min of a mean" in text


def test_a_coma_total_that_its_parts_do_not_make_is_asked_about() -> None:
    """Parts that were told within minutes of a total, and add up to another, are to be settled."""
    leg, now = read_leg(GOLDEN / "quiet.toml")
    at = next(e.happened_at for e in leg.entries if isinstance(e.entry, ComaScore))
    parts = leg.entries[0].model_copy(
        update={"entry": ComaParts(eyes=2, verbal="tube", motor=4), "happened_at": at}
    )
    text = summary_text(leg.model_copy(update={"entries": (*leg.entries, parts)}), now)
    flat = " ".join(text.split())
    assert "GCS total 8, but its parts of 14:31 add up to 6 or 7." in flat


def test_perfusion_is_told_with_and_without_what_is_in_doubt() -> None:
    """Where one of two pressures was never confirmed, range and burden are given both ways."""
    leg, now = read_leg(GOLDEN / "long.toml")
    unsure = {e.number for e in leg.entries if e.happened_at.hour == 11}
    doubtful = tuple(
        e.model_copy(update={"state": EntryState.UNCONFIRMED}) if e.number in unsure else e
        for e in leg.entries
    )
    text = summary_text(leg.model_copy(update={"entries": doubtful}), now)
    flat = " ".join(text.split())
    assert "Range 54 to 78. Below the ordered 60, over 121 min: 3 of 9 values, 33 min" in flat
    assert "Unconfirmed: 4 of 9. The others alone: Range 58 to 78. Below the ordered 60" in flat
    nothing_sure = tuple(
        e.model_copy(update={"state": EntryState.UNCONFIRMED}) for e in leg.entries
    )
    text = summary_text(leg.model_copy(update={"entries": nothing_sure}), now)
    assert "Unconfirmed: 9 of 9. None is confirmed." in " ".join(text.split())


def test_an_ended_leg_does_not() -> None:
    """The summary of a leg that has ended stays the same."""
    leg, now = read_leg(GOLDEN / "quiet.toml")
    assert summary_text(leg, now + timedelta(days=1)) == summary_text(leg, now)


TOLD = [entry for entry, _ in EXPECTED if not isinstance(entry, CheckAnswer)]  # by its check


@pytest.mark.parametrize("entry", TOLD, ids=entry_text)
def test_every_kind_has_its_place(entry: Entry) -> None:
    """What was told is found under its subject, not only in the list of every entry."""
    leg, now = read_leg(GOLDEN / "nothing_told.toml")
    said = LegEntry(
        number=1,
        entry=entry,
        heard="",
        spoken_at=leg.started_at,
        happened_at=leg.started_at,
        state=EntryState.CONFIRMED,
    )
    with_it = leg.model_copy(update={"entries": (said,)})
    texts = [summary_text(one, now).split("\nEvery entry\n")[0] for one in (leg, with_it)]
    without, told = (
        [line for line in text.splitlines() if "Entries:" not in line] for text in texts
    )
    assert told != without


def test_a_damaged_journal_is_told_first() -> None:
    """Whoever reads the summary or the page of a damaged leg learns of it before any count, and what it is."""
    leg, now = read_leg(GOLDEN / "quiet.toml")
    damage = Notice(at=now, text=f"{DAMAGE}Event 8 was changed.")
    damaged = leg.model_copy(update={"notices": (damage,)})
    sentence = "The journal is NOT as it was written: Event 8 was changed."
    head, _, _ = summary_text(damaged, now).partition("Who and why")
    assert head.index(sentence) < head.index("Entries:")
    first = page(damaged, now).sections[0]
    assert (first.paragraphs, first.urgent) == ((sentence,), True)
    assert "NOT as it was" not in summary_text(leg, now)
    assert all(one.title != "Damage" for one in page(leg, now).sections)
