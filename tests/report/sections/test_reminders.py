"""What the summary says of reminders."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from tests.figures.conftest import at
from tests.report.sections.told import telling
from voice.entries.reminder import ReminderKey, ReminderTurn
from voice.report.sections.reminders import reminders

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


def test_no_reminder_has_no_line() -> None:
    """Of a leg without reminders nothing is said."""
    assert reminders(telling()) == []
