"""The spoken answers to questions about a leg: pure, from a question, a leg and the time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.said import About
from voice.report.answers.asking import Asking, Programme
from voice.report.answers.last import last_entry, last_value, time_since
from voice.report.answers.left import what_is_left
from voice.report.answers.ordered import ordered
from voice.report.answers.output import hourly_output, output_and_order, total_output
from voice.report.answers.perfusion import perfusion_now
from voice.report.answers.report import report
from voice.report.answers.trend import trend_of
from voice.report.answers.unconfirmed import unconfirmed

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime

    from voice.entries.leg import Leg
    from voice.entries.said import Question

_ANSWERS: Mapping[About, Callable[[Question, Asking], tuple[str, ...]]] = {
    About.LAST_ENTRY: last_entry,
    About.LAST_VALUE: last_value,
    About.TIME_SINCE: time_since,
    About.TREND: trend_of,
    About.TOTAL_OUTPUT: total_output,
    About.HOURLY_OUTPUT: hourly_output,
    About.OUTPUT_AND_ORDER: output_and_order,
    About.ORDER: ordered,
    About.PERFUSION_NOW: perfusion_now,
    About.UNCONFIRMED: unconfirmed,
    About.WHAT_IS_LEFT: what_is_left,
    About.REPORT: report,
}
"""What answers each question, in one part or several."""


def answer(
    question: Question, leg: Leg, now: datetime, part: int = 0, programme: Programme | None = None
) -> str:
    """What is said to ``question`` at ``now`` (aware), numbers digit by digit.

    Without ``programme``, in the words that ship and by the list of needs that ships. A long answer
    has parts, counted from 0; after the last it says that there is no more.
    """
    parts = _ANSWERS[question.about](question, Asking(leg, now, programme or Programme()))
    if part >= len(parts):
        return "no more to read"
    more = "; say next part" if part + 1 < len(parts) else ""
    return parts[part] + more


def when(leg: Leg, number: int) -> str:
    """The time of day at which an entry of the leg happened: "at one four two zero"."""
    entry = next(entry for entry in leg.entries if entry.number == number)
    return Asking(leg, entry.happened_at).at(entry.happened_at)
