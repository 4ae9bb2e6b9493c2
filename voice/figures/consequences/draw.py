"""Draws the table of states with consequences into the page that tells of them.

``python -m voice.figures.consequences.draw docs/consequences.md``
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from voice.figures.consequences.table import TABLE
from voice.figures.drawing import drawn_into, redraw, row

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.figures.consequences.rule import Rule


def redrawn(page: str) -> str:
    """The page with the table drawn anew; what is around it stays."""
    return drawn_into(page, "voice.figures.consequences.draw", _rows())


def _rows() -> Iterator[str]:
    yield "| state | starts | ends | who may overrule |"
    yield "|---|---|---|---|"
    for rule in TABLE:
        yield row(rule.name, rule.starts, rule.ends, rule.overruled)
    yield ""
    yield "| state | said aloud | listed while it is open | marked on its entries |"
    yield "|---|---|---|---|"
    for rule in TABLE:
        yield row(rule.name, _said(rule), rule.open, rule.mark)


def _said(rule: Rule) -> str:
    if not rule.says:
        return ""
    over = f"; told when it is over: “{rule.says_over}”" if rule.says_over else ""
    return f"{rule.at}: “{rule.says}”{over}"


if __name__ == "__main__":
    redraw(sys.argv[1:], redrawn)
