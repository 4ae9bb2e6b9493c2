"""The entries themselves, by what became of them; notes and notices."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.leg import SpokenNote

if TYPE_CHECKING:
    from collections.abc import Iterable

    from voice.entries.leg import EntryState, LegEntry
    from voice.report.telling import Telling


def in_doubt(told: Telling) -> list[str]:
    """A line an entry that nobody confirmed, with the words that were heard."""
    return _as_heard(told, (e for e in told.leg.entries if e.in_doubt))


def of_state(told: Telling, state: EntryState) -> list[str]:
    """A line an entry in this state, with the words that were heard."""
    return _as_heard(told, (e for e in told.leg.entries if e.state is state))


def _as_heard(told: Telling, entries: Iterable[LegEntry]) -> list[str]:
    return [f"{told.row(e)} Heard: “{e.heard}”." for e in entries]


def every_entry(told: Telling) -> list[str]:
    """A line an entry, whatever its state, in the order in which they were said."""
    return [told.row(e) for e in told.leg.entries]


def notes(told: Telling) -> list[str]:
    """A line a spoken note, with the name of its sound, and what it says where that was written down."""
    return [
        f"{told.time(e.happened_at)} {e.clip or 'the sound was lost'}"
        f"{f', written down as “{e.written_down}”' if e.written_down else ''}."
        for e in told.counting(SpokenNote)
    ]


def notices(told: Telling) -> list[str]:
    """A line for each trouble of the program itself."""
    return [f"{told.time(notice.at)} Program: {notice.text}" for notice in told.leg.notices]
