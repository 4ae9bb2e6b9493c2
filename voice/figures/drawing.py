"""Tables of rules drawn into the pages that tell of them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

_END = "<!-- end of what is drawn -->"


def drawn_into(page: str, drawer: str, lines: Iterable[str]) -> str:
    """The page with ``lines`` in place of what ``drawer``, a module, drew before; the rest stays."""
    begin = f"<!-- drawn by {drawer}: do not edit -->"
    before, _, rest = page.partition(begin)
    _, _, after = rest.partition(_END)
    return "\n".join((before + begin, "", *lines, "", _END + after))


def row(*cells: str) -> str:
    """A row of a table; what is filled in when it is said stands in italics."""
    return f"| {' | '.join(cells)} |".replace("{", "*").replace("}", "*")


def redraw(pages: Iterable[str], redrawn: Callable[[str], str]) -> None:
    """Draw each of these files anew."""
    for page in map(Path, pages):
        page.write_text(redrawn(page.read_text("utf-8")), "utf-8")
