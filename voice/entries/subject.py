"""What an entry is about."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from voice.entries.kinds import Entry

_TELLING = ("side", "limb", "drug", "fluid", "analyte", "mark", "check", "item", "diagnosis")
"""Fields that make two entries of a kind two different things."""


def subject_of(entry: Entry) -> tuple[str, ...]:
    """Its kind, and the side, drug, analyte … where it has one."""
    told = vars(entry)  # asking a model for a field that it lacks is slow
    return (entry.kind, *(str(told[part]) for part in _TELLING if part in told))
