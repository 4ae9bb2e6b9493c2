"""What is ordered for the drain."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.figures.order import order
from voice.report.answers.asking import in_parts

if TYPE_CHECKING:
    from voice.entries.said import Question
    from voice.report.answers.asking import Asking


def ordered(_: Question, asking: Asking) -> tuple[str, ...]:
    """The last that was told of each aspect of the order."""
    numbers = [fact.number for fact in order(asking.leg.entries).told()]
    by_number = {entry.number: entry for entry in asking.entries}
    told = [asking.told(by_number[number]) for number in numbers]
    return in_parts(told) if told else ("no order told",)
