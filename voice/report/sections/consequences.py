"""What is still open, and what a person has to settle because of what was said."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.figures.consequences import open_states, to_settle
from voice.meaning.handoff import load_needs, missing
from voice.report.wording import entry_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from voice.meaning.handoff import Need
    from voice.report.telling import Telling


def open_now(told: Telling) -> list[str]:
    """A line for each state that is still open, emergencies first."""
    return [f"{one.text(told.time)}." for one in open_states(told.leg, told.until)]


def doubts(told: Telling) -> list[str]:
    """A line for each entry about which something is asked, and is not open any more."""
    entries = {e.number: e for e in told.leg.entries}
    return [
        f"Entry {number}, {told.time(entries[number].happened_at)}: "
        f"{entry_text(entries[number].entry)} ({sentence.text(told.time)})."
        for number, sentence in to_settle(told.leg, told.until)
    ]


def not_told(told: Telling, needs: Sequence[Need] | None = None) -> list[str]:
    """What a handoff has to tell, and nobody did; without ``needs`` by the list that ships."""
    looked_for = load_needs() if needs is None else needs
    lacking = missing((e.entry for e in told.leg.counting()), looked_for)
    return [f"Not told: {', '.join(lacking)}."] if lacking else []
