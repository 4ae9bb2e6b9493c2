"""Draws the table of states with consequences into the page that tells of them.

``python -m voice.figures.consequences.draw docs/consequences.md``
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from voice.figures.consequences.table import TABLE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.figures.consequences.rule import Rule

BEGIN = "<!-- drawn by voice.figures.consequences.draw: do not edit -->"
END = "<!-- end of what is drawn -->"


def redrawn(page: str) -> str:
    """The page with the table drawn anew between `BEGIN` and `END`; what is around it stays."""
    before, _, rest = page.partition(BEGIN)
    _, _, after = rest.partition(END)
    return "\n".join((before + BEGIN, "", *_rows(), "", END + after))


def _rows() -> Iterator[str]:
    yield "| state | starts | ends | who may overrule |"
    yield "|---|---|---|---|"
    for rule in TABLE:
        yield _row(rule.name, rule.starts, rule.ends, rule.overruled)
    yield ""
    yield "| state | said aloud | listed while it is open | marked on its entries |"
    yield "|---|---|---|---|"
    for rule in TABLE:
        yield _row(rule.name, _said(rule), rule.open, rule.mark)


def _row(*cells: str) -> str:
    """With what is filled in in italics."""
    return f"| {' | '.join(cells)} |".replace("{", "*").replace("}", "*")


def _said(rule: Rule) -> str:
    if not rule.says:
        return ""
    return f"{rule.at}: “{rule.says}”"


if __name__ == "__main__":
    for name in sys.argv[1:]:
        Path(name).write_text(redrawn(Path(name).read_text("utf-8")), "utf-8")
