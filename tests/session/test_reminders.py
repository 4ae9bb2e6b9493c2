"""Reminders in a running leg, with made-up sound and a real journal: when, how often, and answered."""

from __future__ import annotations

import errno
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, NoReturn

from tests.session.scripted import ZERO_AT, Said, Sitting, says
from voice.dialogue.state import StateName
from voice.entries.leg import Leg, LegSettings
from voice.record.journal import Journal
from voice.record.part import Part
from voice.session.progress import Spoken
from voice.session.reminders import LOOK_EVERY_S, QUIET_S, Reminders

if TYPE_CHECKING:
    from pathlib import Path

    import pytest


READING = ("start leg", "drain clamped for reading", "confirm")
"""The drain closed for a reading at about 6 s: its reminder is due at about 306 s."""
ASKED = "is it open again? say drain open"


def hm(*at_s: float) -> list[Said]:
    """Talk to others, for time to pass."""
    return [Said("hm", one) for one in at_s]


def said_at_s(sitting: Sitting, words: str) -> list[float]:
    """When something was spoken that holds these words, in s of the sitting."""
    return [
        (one.at - ZERO_AT).total_seconds()
        for one in sitting.progress
        if isinstance(one, Spoken) and words in one.text
    ]


def test_what_is_due_is_said_and_once_more(tmp_path: Path) -> None:
    """Five minutes after the drain was closed, once more ten minutes later; the journal knows of both."""
    sitting = Sitting(tmp_path, says(*READING, *hm(300, 308, 320, 900, 910, 2500), "end leg")).run()
    first_s, second_s = said_at_s(sitting, ASKED)
    assert 308 < first_s < 309
    assert 910 < second_s < 911
    assert "drain closed for a reading five minutes ago; " + ASKED in sitting.spoken
    closed = [turn for turn in sitting.leg().reminders if turn.key.rule == "drain closed"]
    assert [turn.became for turn in closed] == ["said", "said"]


def test_what_was_told_is_not_asked_about(tmp_path: Path) -> None:
    """Opened again, also at the last moment, the drain is not asked about."""
    sitting = Sitting(
        tmp_path, says(*READING, Said("drain open", 295), "confirm", *hm(900), "end leg")
    ).run()
    assert said_at_s(sitting, ASKED) == []


def test_reminder_is_acknowledged_by_voice(tmp_path: Path) -> None:
    """What was noted is named, is not said again, and stands in the journal with its time."""
    sitting = Sitting(
        tmp_path, says(*READING, *hm(320), "reminder noted", *hm(1200), "end leg")
    ).run()
    assert len(said_at_s(sitting, ASKED)) == 1
    assert "noted: drain closed" in sitting.spoken
    said, noted = sitting.leg().reminders[:2]
    assert (said.became, noted.became) == ("said", "acknowledged")
    assert timedelta(seconds=5) < noted.at - said.at < timedelta(seconds=30)


def test_reminder_is_postponed_by_voice(tmp_path: Path) -> None:
    """It comes again as long after it was postponed as was said."""
    sitting = Sitting(
        tmp_path, says(*READING, *hm(320), "later twenty minutes", *hm(1510, 1530), "end leg")
    ).run()
    first_s, second_s = said_at_s(sitting, ASKED)
    assert "drain closed: again in two zero minutes" in sitting.spoken
    assert first_s < 321
    assert second_s > 1530
    postponed = next(turn for turn in sitting.leg().reminders if turn.until is not None)
    assert postponed.until == postponed.at + timedelta(minutes=20)


def gone_on_with(first: Sitting, *events: str | Said) -> Sitting:
    """A sitting that goes on with the leg of one that broke off."""
    journal = Journal.open(first.keeper.folder, ZERO_AT)
    return Sitting(first.root, says(*events), journal).run()


def test_a_leg_that_goes_on_repeats_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    """What was noted before the break is not said after it, and there is nothing to answer."""
    first = Sitting(tmp_path, says(*READING, *hm(320), "reminder noted")).run()
    second = gone_on_with(first, Said("reminder noted", 340), *hm(1200))
    assert said_at_s(second, ASKED) == []
    assert "no reminder to answer" in second.spoken


def test_what_was_said_before_a_break_can_be_answered_after_it(tmp_path: Path) -> None:
    """It does not come again at once, and it is acknowledged or postponed as if there was no break."""
    first = Sitting(tmp_path, says(*READING, *hm(320))).run()
    second = gone_on_with(first, *hm(340), Said("remind me later", 350), *hm(900, 1000))
    (told_s,) = said_at_s(second, ASKED)
    assert told_s > 1000
    assert "drain closed: again in one zero minutes" in second.spoken


def test_quiet_while_an_answer_is_waited_for_and_after_it(tmp_path: Path) -> None:
    """A reminder that falls due while an entry waits comes a pause after its "confirm"."""
    sitting = Sitting(
        tmp_path, says(*READING, Said("pressure fifteen", 303), Said("confirm", 313), *hm(350))
    ).run()
    (told_s,) = said_at_s(sitting, ASKED)
    confirmed_s = [start_s for start_s, text in sitting.script.said if text == "confirm"][-1]
    assert told_s - (confirmed_s + 1.0) >= QUIET_S
    assert sitting.spoken.count("pressure, one five") == 1


def test_other_talk_keeps_no_reminder_away(tmp_path: Path) -> None:
    """Crew who speak to each other all the time do not silence it."""
    sitting = Sitting(tmp_path, says(*READING, *hm(*range(280, 340, 5)), "end leg")).run()
    (told_s,) = said_at_s(sitting, ASKED)
    assert told_s < 320


def test_a_line_that_came_apart_does_not_wait(tmp_path: Path) -> None:
    """It comes in between, while an entry waits and while standing by; what waits is read back again."""
    sitting = Sitting(
        tmp_path,
        says(
            "start leg", "line disconnected", "confirm", Said("heart rate eighty eight", 122),
            Said("confirm", 133), *hm(140), "end leg",
        ),
    ).run()  # fmt: skip
    due = [i for i, text in enumerate(sitting.spoken) if text.startswith("line disconnected, not")]
    assert sitting.spoken[due[-1] + 1] == "heart rate, eight eight"
    by = Sitting(
        tmp_path / "by",
        says("start leg", "line disconnected", "confirm", "stand by", *hm(150), "resume"),
    ).run()
    told = [text for text in by.spoken if text.startswith("line disconnected, not yet told")]
    assert len(told) == 2  # with the entry, and two minutes later


def test_nothing_else_is_said_while_standing_by(tmp_path: Path) -> None:
    """What fell due while it stood by comes after "resume"."""
    sitting = Sitting(
        tmp_path, says(*READING, "stand by", *hm(500), "resume", *hm(540), "end leg")
    ).run()
    (told,) = said_at_s(sitting, ASKED)
    (resumed,) = said_at_s(sitting, "listening")
    assert told > resumed


def test_reminder_that_cannot_be_written_is_trouble_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With a dead journal no reminder is said: what is not kept any more would be reminded of wrongly."""
    sitting = Sitting(tmp_path, says(*READING, *hm(320, 340, 360, 380, 400)))
    progress = sitting.session.run()
    for one in progress:
        sitting.progress.append(one)
        if sitting.spoken[-1] == "(kept)":
            break
    monkeypatch.setattr(Part, "append", disk_full)
    sitting.progress.extend(progress)
    assert said_at_s(sitting, ASKED) == []
    assert len(said_at_s(sitting, "write by hand")) == 1


def disk_full(*_: object) -> NoReturn:
    """What a full disk does."""
    raise OSError(errno.ENOSPC, "No space left on device")


def test_a_new_leg_has_its_own_reminders(tmp_path: Path) -> None:
    """What was said in one leg is said again in the next."""
    second = [Said("start leg", 410), *says(*READING[1:])]
    sitting = Sitting(
        tmp_path, says(*READING, *hm(400), *["end leg"] * 2, *second, *hm(800), "end leg")
    ).run()
    assert len(said_at_s(sitting, ASKED)) == 2


def test_it_is_looked_for_now_and_then() -> None:
    """The leg is looked at every few seconds, and not without a leg or into a note."""
    looked: list[float] = []

    def leg_at(at_s: float) -> Leg:
        looked.append(at_s)
        return Leg(id="a", settings=LegSettings(), started_at=ZERO_AT)

    def look(reminders: Reminders, state: StateName, at_s: float) -> None:
        now: datetime = ZERO_AT + timedelta(seconds=at_s)
        assert reminders.due(lambda: leg_at(at_s), state, at_s, now) is None

    reminders = Reminders()
    for at_s in (0.0, LOOK_EVERY_S - 0.1, LOOK_EVERY_S):
        look(reminders, StateName.LISTENING, at_s)
    look(reminders, StateName.ASLEEP, 99.0)
    look(reminders, StateName.NOTING, 99.0)
    assert looked == [0.0, LOOK_EVERY_S]
