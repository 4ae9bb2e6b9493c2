"""Looks for what keeps somebody from using a page, by axe."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import axe_playwright_python

if TYPE_CHECKING:
    from playwright.sync_api import Page

_AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text("utf-8")
_RUN = "async () => (await axe.run()).violations.map(one => [one.id, one.nodes.map(n => n.html)])"


def violations(page: Page) -> list[list[object]]:
    """Each rule that the page breaks, with the elements that break it."""
    if page.evaluate("typeof axe") == "undefined":
        page.evaluate(_AXE)
    found: list[list[object]] = page.evaluate(_RUN)
    return found
