"""What is left out of a page that paper is too small for; each section says how much that is."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from voice.report.page.content import Page, Section

KEPT = ("Damage", "Order", "Open now", "Drain now", "Done, ICP after", "Missing, in doubt")
"""Sections that are shortened later than the others."""

_EVENTS, _EVENTS_KEPT = {3: 0, 1: 1, 0: 4}, {8: 0, 4: 1, 0: 5}
"""Down to how many of its latest events a section is shortened in which round: any, and one of `KEPT`.
"""
_FACTS, _FACTS_KEPT, _FACTS_OF_METHOD = {1: 3, 0: 6}, {1: 7, 0: 8}, {4: 1, 1: 2, 0: 6}
"""The same of its facts. How a figure is worked out can be read elsewhere."""
_EMPTY = 9


def fitted(page: Page, fits: Callable[[Page], bool]) -> Page:
    """The page with as little left out as ``fits`` asks for.

    What happened goes before what is worked out from it, the latest of it last; round by round, and in
    each round first from where there is most.
    """
    while not fits(page):
        first = min(page.sections, key=_turn)
        if not first.facts and not first.history:
            break
        page = replace(
            page, sections=tuple(one.shorter() if one is first else one for one in page.sections)
        )
    return page


def _turn(section: Section) -> tuple[int, int]:
    """The lower, the sooner something of it is left out: its round, and how much there is of it."""
    told = section.history or section.facts
    return _round(section), -sum(map(len, told))


def _round(section: Section) -> int:
    kept = section.title in KEPT
    if section.history:
        left, rounds = len(section.history), _EVENTS_KEPT if kept else _EVENTS
    else:
        left, rounds = len(section.facts), _FACTS_KEPT if kept else _FACTS
        if section.title == "Method":
            rounds = _FACTS_OF_METHOD
    return next((turn for limit, turn in rounds.items() if left > limit), _EMPTY)
