"""What was never confirmed aloud."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.leg import EntryState
from voice.report.answers.asking import counted, in_parts

if TYPE_CHECKING:
    from voice.entries.said import Question
    from voice.report.answers.asking import Asking


def unconfirmed(_: Question, asking: Asking) -> tuple[str, ...]:
    """How many entries wait, each with its time, and how they are confirmed."""
    waiting = [e for e in asking.leg.entries if e.state is EntryState.UNCONFIRMED]
    if not waiting:
        return ("nothing is unconfirmed",)
    told = [f"{asking.words(e)}, {asking.at(e.happened_at)}" for e in waiting]
    head = (
        f"{counted(len(waiting), 'entry', 'entries')} unconfirmed; to confirm, say read unconfirmed"
    )
    return in_parts([head, *told])
