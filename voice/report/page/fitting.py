"""What is left out of a page that paper is too small for; each section says how much that is."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from voice.report.page.content import Page, Section

KEPT = ("Order", "Open now", "Drain now", "Done, ICP after", "Missing, in doubt")
"""Sections that are shortened only when nothing else is left to shorten."""


def fitted(page: Page, fits: Callable[[Page], bool]) -> Page:
    """The page with as little left out as ``fits`` asks for.

    What happened goes before what is worked out from it, and first from where there is most of it.
    """
    while not fits(page):
        longest = max(page.sections, key=_spare)
        if not longest.facts and not longest.history:
            break
        page = replace(
            page,
            sections=tuple(one.shorter() if one is longest else one for one in page.sections),
        )
    return page


def _spare(section: Section) -> tuple[bool, bool, int]:
    """The higher, the sooner something of it is left out."""
    told = section.history or section.facts
    return section.title not in KEPT and bool(told), bool(section.history), sum(map(len, told))
