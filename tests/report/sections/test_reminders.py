"""What the summary says of reminders."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from tests.figures.conftest import at
from tests.report.sections.told import telling
from voice.entries.kinds.drain import DrainClamped, DrainOpened
from voice.entries.reminder import ReminderKey, ReminderTurn
from voice.report.sections.reminders import reminders, still_so

if TYPE_CHECKING:
    from datetime import datetime

CLAMPED = ReminderKey(rule="drain clamped", since=at(0))
DOSE = ReminderKey(rule="dose due", since=at(1), about="cefazolin")


def turn(
    key: ReminderKey,
    minute: float,
    became: Literal["said", "acknowledged", "postponed"] = "said",
    until: datetime | None = None,
) -> ReminderTurn:
    """One thing that became of a reminder."""
    return ReminderTurn(key=key, at=at(minute), became=became, until=until)


def test_each_reminder_is_told_with_all_that_became_of_it() -> None:
    """Said, put off and acknowledged stand in one line, with what it is about and since when."""
    told = telling(
        reminders=(
            turn(CLAMPED, 30),
            turn(DOSE, 31),
            turn(CLAMPED, 32, "postponed", at(42)),
            turn(CLAMPED, 42),
            turn(CLAMPED, 43, "acknowledged"),
        )
    )
    assert reminders(told) == [
        (
            "Drain clamped, since 14:00: said 14:30; postponed 14:32 until 14:42; said 14:42; "
            "acknowledged 14:43."
        ),
        "Dose due, cefazolin, since 14:01: said 14:31; not answered.",
    ]


def test_a_reminder_that_began_anew_is_another_one() -> None:
    """The same rule with another beginning has a line of its own."""
    again = CLAMPED.model_copy(update={"since": at(20)})
    assert len(reminders(telling(reminders=(turn(CLAMPED, 5), turn(again, 25))))) == 2


CLAMP = (0, DrainClamped())
OPEN = (33, DrainOpened())


def test_a_reminder_tells_whether_its_cause_lasts() -> None:
    """A drain that is still clamped is still so; one that was opened is over, and from when is told."""
    said = (turn(CLAMPED, 30),)
    (line,) = reminders(telling(CLAMP, reminders=said))
    assert line == "Drain clamped, since 14:00: said 14:30; not answered; still so."
    (line,) = reminders(telling(CLAMP, OPEN, reminders=said))
    assert line == "Drain clamped, since 14:00: said 14:30; not answered; over 14:33."


def test_of_a_cause_that_was_put_right_no_end_is_told() -> None:
    """When the clamping is found to have been at another time, nobody knows that the reminder's is over."""
    (line,) = reminders(telling((-3, DrainClamped()), reminders=(turn(CLAMPED, 30),)))
    assert line == "Drain clamped, since 14:00: said 14:30; not answered."


def test_the_page_has_what_lasts_and_counts_the_rest() -> None:
    """A receiving team reads of what is still so; without anything such there is no line."""
    both = (turn(DOSE, 31), turn(CLAMPED, 32))
    assert still_so(telling(CLAMP, reminders=both)) == [
        "Drain clamped, since 14:00: said 14:32; not answered; still so.",
        "Others, over or changed: 1.",
    ]
    assert still_so(telling(CLAMP, OPEN, reminders=both)) == []


def test_no_reminder_has_no_line() -> None:
    """Of a leg without reminders nothing is said."""
    assert reminders(telling()) == []
