"""The spoken answers to questions about a leg: pure, from a question, a leg and the time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.said import About
from voice.report.answers.last import last_entry
from voice.report.answers.output import hourly_output, total_output

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime

    from voice.entries.leg import Leg
    from voice.entries.said import Question

_ANSWERS: Mapping[About, Callable[[Question, Leg, datetime], tuple[str, ...]]] = {
    About.LAST_ENTRY: last_entry,
    About.TOTAL_OUTPUT: total_output,
    About.HOURLY_OUTPUT: hourly_output,
}
"""What answers each question, in one part or several."""


def answer(question: Question, leg: Leg, now: datetime, part: int = 0) -> str:
    """What is said to ``question`` at ``now`` (aware), numbers digit by digit.

    A long answer has parts, counted from 0; after the last it says that there is no more.
    """
    parts = _ANSWERS[question.about](question, leg, now)
    if part >= len(parts):
        return "no more to read"
    more = "; say next part" if part + 1 < len(parts) else ""
    return parts[part] + more
