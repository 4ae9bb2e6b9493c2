"""The answers that checks by voice brought, where no other entry tells them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.checks import CheckAnswer
from voice.report.telling import doubt

if TYPE_CHECKING:
    from voice.entries.leg import LegEntry
    from voice.report.telling import Telling


def checks(told: Telling) -> list[str]:
    """A line a check list, with the latest answer to each item; none where no check was made."""
    latest: dict[str, dict[str, LegEntry]] = {}
    for e in told.leg.entries:
        if e.counts and isinstance(e.entry, CheckAnswer):
            latest.setdefault(e.entry.check, {})[e.entry.item] = e
    return [
        f"{check[0].upper()}{check[1:]}, {told.time(max(e.happened_at for e in items.values()))}: "
        f"{'; '.join(_answer(item, e) for item, e in items.items())}."
        for check, items in latest.items()
    ]


def _answer(item: str, e: LegEntry) -> str:
    assert isinstance(e.entry, CheckAnswer)
    return f"{item} {e.entry.answer}{doubt(e)}"
