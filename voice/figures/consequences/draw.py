"""Draws the table of states with consequences: ``python -m voice.figures.consequences.draw``."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from voice.figures.consequences.table import TABLE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.figures.consequences.rule import Rule

BEGIN = "<!-- drawn: python -m voice.figures.consequences.draw -->"
END = "<!-- end of what is drawn -->"


def draw() -> str:
    """The table, as it stands between `BEGIN` and `END` in ``docs/consequences.md``."""
    return "\n".join((BEGIN, "", *_rows(), "", END))


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
    whens = [str(rule.at)] if rule.at else []
    if rule.after_min:
        whens.append(f"after {', '.join(map(str, rule.after_min))} min")
    return f"{'; '.join(whens)}: “{rule.says}”"


if __name__ == "__main__":
    sys.stdout.write(draw() + "\n")
