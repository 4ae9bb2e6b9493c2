"""A leg told without identity."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

import pytest

from tests.report.export.documents import NAMES, SEAL, document_of
from tests.report.legs import GOLDEN, read_leg
from voice.entries.kinds.drain_care import CatheterPlaced
from voice.entries.leg import EntryState, LegEntry, Notice
from voice.entries.reminder import ReminderKey, ReminderTurn
from voice.entries.review import Comment, DeskEnd, DeskMark, Reviewer, SignOff
from voice.report.export.csv_file import to_csv
from voice.report.export.document import LegDocument, to_json
from voice.report.export.identity import without_identity
from voice.report.export.table import kinds
from voice.report.summary import summary_text

REVIEWER = Reviewer(name="A. Reviewer", role="flight nurse")


def telling() -> LegDocument:
    """A leg in which everything has a name, a date or free words."""
    document = document_of("troubled")
    leg = document.leg
    at = leg.started_at
    note = Comment(at=at, by=REVIEWER, text="private words")
    signed = SignOff(at=at, by=REVIEWER, sounds=1, listened_to=1)
    entry = LegEntry(
        number=99, entry=CatheterPlaced(month=4, day=30, hour=7, minute=5), heard="private words",
        spoken_at=at, happened_at=at, state=EntryState.REVIEWED, clip="0099.flac",
        desk=DeskMark(act="added", at=at, by=REVIEWER, why="private words"),
        written_down="private words", comments=(note,),
    )  # fmt: skip
    reminder = ReminderTurn(
        key=ReminderKey(rule="zero", since=at), at=at, became="postponed", until=at
    )
    told = {
        "entries": (*leg.entries, entry),
        "notices": (Notice(at=at, text="private words"),),
        "reminders": (reminder,),
        "comments": (note,),
        "sign_offs": (signed,),
        "signed": signed,
        "flown_until": at,
        "desk_end": DeskEnd(at=at, by=REVIEWER, why="private words"),
    }
    return document.model_copy(update={"leg": leg.model_copy(update=told)})


def test_nothing_of_it_leads_back() -> None:
    """No id, seal, date, free word, name or clip of the leg is in what is written without identity."""
    text = to_json(without_identity(telling())) + to_csv(without_identity(telling()))
    for told in (SEAL, "troubled", "private", "A. Reviewer", ".flac", "scratch that", "2026"):
        assert told not in text, told
    years = {int(year) for year in re.findall(r"(?<!\d)(\d{4})-\d\d-\d\d", text)}
    assert years <= {1999, 2000}
    assert not {e.heard for e in without_identity(telling()).leg.entries} - {""}


@pytest.mark.parametrize("name", [*NAMES, "broken_off"])
def test_every_figure_stays(name: str) -> None:
    """The summary tells the same as before, but for the date, the words and the clips."""
    after = without_identity(document_of(name))
    before = document_of(name).leg
    entries = tuple(e.model_copy(update={"heard": "", "clip": None}) for e in before.entries)
    notices = tuple(
        told.model_copy(update={"text": other.text})
        for told, other in zip(before.notices, after.leg.notices, strict=True)
    )
    wordless = before.model_copy(
        update={"id": after.leg.id, "entries": entries, "notices": notices}
    )
    texts = (
        summary_text(wordless, document_of(name).as_of),
        summary_text(after.leg, after.as_of),
    )
    one, other = (DATE.sub("a date", " ".join(text.split())) for text in texts)
    assert one == other


DATE = re.compile(
    r"\b\d{1,2} (January|March|May|December)( \d{4})?\b|\bUTC( ?[+-]\d\d?:?\d*)?|, ahead of UTC"
)


def test_no_entry_holds_free_words() -> None:
    """What an entry tells is one of a list, a name of a list of the programme's, or a number."""
    free = {
        (kind.model_fields["kind"].default, name)
        for kind in kinds()
        for name, field in kind.model_fields.items()
        if field.annotation is str
    }
    assert {name for _, name in free} == {"drug", "check", "item"}, "new free words lead to whom?"


def test_two_legs_are_told_apart() -> None:
    """Legs without identity have ids of their own, and the same leg has the same one each time."""
    ids = [without_identity(document_of(name)).leg.id for name in (*NAMES, "quiet")]
    assert len(set(ids)) == len(NAMES)
    assert ids[0] == ids[-1]


def test_a_catheter_is_as_old_as_it_was() -> None:
    """The day on which the catheter was placed moves with the leg, over the turn of a year too."""
    document = document_of("quiet")
    for placed, started in (
        (datetime(2026, 4, 30, tzinfo=UTC), datetime(2026, 5, 3, 10, tzinfo=UTC)),
        (datetime(2025, 12, 29, tzinfo=UTC), datetime(2026, 1, 2, 10, tzinfo=UTC)),
        (datetime(2024, 2, 29, tzinfo=UTC), datetime(2024, 3, 1, 10, tzinfo=UTC)),
        (datetime(2024, 12, 31, tzinfo=UTC), datetime(2025, 1, 1, 10, tzinfo=UTC)),
    ):
        told = document.leg.entries[0].model_copy(
            update={"entry": CatheterPlaced(month=placed.month, day=placed.day)}
        )
        leg = document.leg.model_copy(update={"started_at": started, "entries": (told,)})
        moved = without_identity(document.model_copy(update={"leg": leg})).leg
        catheter = moved.entries[0].entry
        assert isinstance(catheter, CatheterPlaced)
        day = datetime(1999, catheter.month, catheter.day, tzinfo=UTC)
        assert moved.started_at.date() - day.date() == started.date() - placed.date()
        assert moved.started_at == datetime(2000, 1, 1, 10, tzinfo=UTC)


def test_a_leap_day_is_taken_for_the_last_there_was() -> None:
    """A catheter of 29 February, told in a year without one, is of the last year that had one."""
    document = document_of("quiet")
    told = document.leg.entries[0].model_copy(update={"entry": CatheterPlaced(month=2, day=29)})
    started = datetime(2025, 1, 2, 10, tzinfo=UTC)
    leg = document.leg.model_copy(update={"started_at": started, "entries": (told,)})
    catheter = without_identity(document.model_copy(update={"leg": leg})).leg.entries[0].entry
    assert isinstance(catheter, CatheterPlaced)
    assert (catheter.month, catheter.day) == (2, 27)  # 308 days before 1 January 2000


def test_the_clock_stays_the_legs_own() -> None:
    """Times of day are those of the leg's clock, though the offset from UTC is no longer told."""
    leg, _ = read_leg(GOLDEN / "troubled.toml")
    moved = without_identity(document_of("troubled")).leg
    for before, after in zip(leg.entries, moved.entries, strict=True):
        assert moved.local(after.happened_at).time() == leg.local(before.happened_at).time()
        assert after.happened_at - moved.started_at == before.happened_at - leg.started_at
    assert moved.settings.zone.utcoffset(None) == timedelta()
