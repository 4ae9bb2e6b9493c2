"""Questions in a running leg, with made-up sound and a real journal."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.session.scripted import Said, Sitting, says
from voice.entries.leg import EntryState

if TYPE_CHECKING:
    from pathlib import Path


def answers(sitting: Sitting) -> list[str]:
    """What was spoken after the leg was started."""
    return sitting.spoken[3:]


def test_questions_are_answered_from_the_running_leg(tmp_path: Path) -> None:
    """The last value, its age and the trend are told of what was just said, and nothing is written."""
    sitting = Sitting(
        tmp_path,
        says(
            "start leg", "pressure fourteen", "confirm", Said("pressure eighteen", 1200), "confirm",
            Said("last pressure", 1800), "time since pressure", "pressure over the last hour",
        ),
    ).run()  # fmt: skip
    last, age, ran = answers(sitting)[-3:]
    assert last == "pressure, one eight, at one two two zero, one zero minutes ago"
    assert age.startswith("one zero minutes ago, pressure, one eight")
    assert ran.startswith(
        "pressure over the last hour, two readings, first one four, last one eight"
    )
    assert len(sitting.leg().entries) == 2


def test_answer_while_an_entry_waits_is_followed_by_its_read_back(tmp_path: Path) -> None:
    """A "confirm" after the answer confirms the entry, and the answer has said that it is not yet."""
    sitting = Sitting(
        tmp_path, says("start leg", "pressure fourteen", "last pressure", "confirm")
    ).run()
    assert answers(sitting) == [
        "pressure, one four", "pressure, one four, unconfirmed, at one two zero zero, just now",
        "pressure, one four", "(kept)",
    ]  # fmt: skip
    assert [entry.state for entry in sitting.leg().entries] == [EntryState.CONFIRMED]


def test_unconfirmed_entries_are_confirmed_by_voice(tmp_path: Path) -> None:
    """Read one by one with their times, one is confirmed, one left and one corrected."""
    sitting = Sitting(
        tmp_path,
        says(
            "start leg", Said("pressure fourteen", 60), Said("drain clamped", 120),
            Said("heart rate eighty eight", 180), Said("read unconfirmed", 240), "confirm",
            "next one", "correction heart rate ninety", "confirm",
        ),
    ).run()  # fmt: skip
    assert answers(sitting)[-12:] == [
        "three unconfirmed", "at one two zero one", "pressure, one four", "(kept)",
        "at one two zero two", "drain clamped", "left unconfirmed", "at one two zero three",
        "heart rate, eight eight", "correction, heart rate, nine zero", "(kept)", "all read",
    ]  # fmt: skip
    states = [entry.state for entry in sitting.leg().entries]
    assert states == [
        EntryState.CONFIRMED, EntryState.UNCONFIRMED, EntryState.CORRECTED, EntryState.CONFIRMED,
    ]  # fmt: skip


def test_the_report_is_read_part_by_part(tmp_path: Path) -> None:
    """The report goes on when it is asked to, and ends with what is left."""
    parts = ["next part"] * 12
    sitting = Sitting(
        tmp_path, says("start leg", "drain open", "confirm", "read the report", *parts)
    ).run()
    spoken = answers(sitting)
    told = spoken[spoken.index("(kept)") + 1 :]
    assert told[0].startswith("leg: ")
    assert any(part.startswith("leg: started at one two zero zero") for part in told)
    assert told[-1] == "no more to read"
    assert any(part.startswith("left: ") for part in told)


@pytest.mark.parametrize("question", ["what is left", "what is unconfirmed", "c p p now"])
def test_questions_of_an_empty_leg(tmp_path: Path, question: str) -> None:
    """A leg of which nothing was told answers all the same."""
    sitting = Sitting(tmp_path, says("start leg", question)).run()
    assert len(answers(sitting)) == 1
