"""Draws the table of reminders into the page that tells of them.

``python -m voice.figures.reminding.draw docs/reminders.md``
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from voice.figures.reminding.table import TABLE

if TYPE_CHECKING:
    from collections.abc import Iterator

BEGIN = "<!-- drawn by voice.figures.reminding.draw: do not edit -->"
END = "<!-- end of what is drawn -->"


def redrawn(page: str) -> str:
    """The page with the table drawn anew between `BEGIN` and `END`; what is around it stays."""
    before, _, rest = page.partition(BEGIN)
    _, _, after = rest.partition(END)
    return "\n".join((before + BEGIN, "", *_rows(), "", END + after))


def _rows() -> Iterator[str]:
    yield "| reminder | of | due | cleared by | source |"
    yield "|---|---|---|---|---|"
    for rule in TABLE:
        yield _row(rule.name, rule.starts, rule.due, rule.ends, rule.source)
    yield ""
    yield "| reminder | said | again, if not answered, after |"
    yield "|---|---|---|"
    for rule in TABLE:
        urgent = "; also in between" if rule.urgent else ""
        again = f"{', '.join(map(str, rule.again_min))} min{urgent}"
        yield _row(rule.name, f"“{rule.says}”", again)


def _row(*cells: str) -> str:
    """With what is filled in in italics."""
    return f"| {' | '.join(cells)} |".replace("{", "*").replace("}", "*")


if __name__ == "__main__":
    for name in sys.argv[1:]:
        Path(name).write_text(redrawn(Path(name).read_text("utf-8")), "utf-8")
