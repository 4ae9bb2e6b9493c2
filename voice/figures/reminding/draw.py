"""Draws the table of reminders into the page that tells of them.

``python -m voice.figures.reminding.draw docs/reminders.md``
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from voice.figures.drawing import drawn_into, redraw, row
from voice.figures.reminding.table import TABLE

if TYPE_CHECKING:
    from collections.abc import Iterator


def redrawn(page: str) -> str:
    """The page with the table drawn anew; what is around it stays."""
    return drawn_into(page, "voice.figures.reminding.draw", _rows())


def _rows() -> Iterator[str]:
    yield "| reminder | of | due | cleared by | source |"
    yield "|---|---|---|---|---|"
    for rule in TABLE:
        yield row(rule.name, rule.starts, rule.due, rule.ends, rule.source)
    yield ""
    yield "| reminder | said | again, if not answered, after |"
    yield "|---|---|---|"
    for rule in TABLE:
        urgent = "; also in between" if rule.urgent else ""
        again = f"{', '.join(map(str, rule.again_min))} min{urgent}"
        yield row(rule.name, f"“{rule.says}”", again)


if __name__ == "__main__":
    redraw(sys.argv[1:], redrawn)
