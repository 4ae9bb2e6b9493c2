from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from tests.record.conftest import START, at, kept
from tests.record.test_desk_events import ACTS, BY, STARTED, put_down
from voice.entries.kinds.leg import SpokenNote
from voice.record.desk_events import Commented, SignedOff, WrittenDown
from voice.record.replay import replay
from voice.report.page.content import page
from voice.report.summary import summary_text

if TYPE_CHECKING:
    from voice.record.events import Event

NOW = START + timedelta(hours=2)
SIGNED = "Signed off 15:35 by R. Sand, charge nurse, 2 of 3 sounds listened to."


def told(*events: Event) -> str:
    """The summary after these events, on one line."""
    return " ".join(summary_text(replay([STARTED, *events]), NOW).split())


def test_a_correction_tells_who_and_why() -> None:
    """What the desk put down stands with who did it and why, and the first record beside it."""
    text = told(kept(1, 14), put_down(2, 40, replaces=1))
    assert "1: 14:01 ICP 14 mmHg, corrected by 2." in text
    who = "corrected at the desk by R. Sand, charge nurse: misheard"
    assert f"2: 14:01 ICP 40 mmHg, corrects 1, reviewed ({who})." in text
    assert "40 mmHg (unconfirmed)" not in text


def test_remarks_and_what_a_note_says_are_told() -> None:
    """Comments stand with who made them, and a note with its words."""
    note = kept(1).model_copy(update={"entry": SpokenNote(), "clip": "0001.flac"})
    text = told(
        note,
        WrittenDown(at=at(90), by=BY, number=1, text="pupil looked sluggish"),
        Commented(at=at(91), by=BY, number=1, text="so it did"),
        Commented(at=at(92), by=BY, text="a rough flight"),
    )
    assert "14:01 0001.flac, written down as “pupil looked sluggish”." in text
    assert "About entry 1: “so it did” (R. Sand, charge nurse, 15:31)." in text
    assert "About the leg: “a rough flight” (R. Sand, charge nurse, 15:32)." in text


def test_a_note_is_not_listed_as_unconfirmed() -> None:
    """What was only kept as sound says nothing that could be confirmed: it is counted and listed as a note."""
    note = kept(1).model_copy(update={"entry": SpokenNote(), "clip": "0001.flac"})
    text = told(note, kept(2, 14))
    assert "Entries: 1 unconfirmed, 0 confirmed" in text
    assert "0 withdrawn, notes kept as sound: 1." in text
    assert "Unconfirmed 2: 14:01 ICP 14 mmHg, unconfirmed." in text
    assert "1: 14:01 Spoken note. 2: 14:01" in text


def test_a_sign_off_is_told_and_what_came_after_it() -> None:
    """A sign-off stands at the head of the summary and on the page; a later change is told there, too."""
    signed = SignedOff(at=at(95), by=BY, sounds=3, listened_to=2)
    assert SIGNED in told(kept(1), signed)
    assert SIGNED in page(replay([STARTED, kept(1), signed]), NOW).foot[1]
    changed = told(kept(1), signed, Commented(at=at(96), by=BY, text="late"))
    assert f"Changed after it was signed off {SIGNED.removeprefix('Signed off ')}" in changed


def test_a_leg_that_nobody_reviewed_says_nothing_of_the_desk() -> None:
    """Without an act there is no section of the desk."""
    assert "desk" not in told(kept(1))
    assert "The reviewer's desk" in told(kept(1), kept(2), kept(3), *ACTS)
