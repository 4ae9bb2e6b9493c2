"""What is left before the handoff: what is open, and what was never told."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.leg import EntryState
from voice.meaning.handoff import missing
from voice.report.answers.asking import counted, in_parts

if TYPE_CHECKING:
    from voice.entries.said import Question
    from voice.report.answers.asking import Asking


def what_is_left(_: Question, asking: Asking) -> tuple[str, ...]:
    """Open states first, then what a handoff still lacks, then how much is unconfirmed."""
    told = left(asking)
    return in_parts(told) if told else ("nothing is left",)


def left(asking: Asking) -> list[str]:
    """The same as sentences; none where nothing is left."""
    told = [*asking.open_states, lacking(asking), waiting(asking)]
    return [sentence for sentence in told if sentence]


def lacking(asking: Asking) -> str:
    """What a handoff still lacks; empty where that is nothing."""
    names = missing((e.entry for e in asking.entries), asking.programme.needs)
    return f"not told: {', '.join(names)}" if names else ""


def waiting(asking: Asking) -> str:
    """How many entries are unconfirmed; empty where none is."""
    unconfirmed = sum(e.state is EntryState.UNCONFIRMED for e in asking.leg.entries)
    return f"{counted(unconfirmed, 'entry', 'entries')} unconfirmed" if unconfirmed else ""
