"""How long the desk takes in the browser with a leg of 8 h and 1,500 entries.

``python -m tests.review.browser.bench``; `docs/bench.md` has what it gave. Told are milliseconds by the
clock, which grow with whatever else the machine does, and of processor time: of the server with the test
that drives it, and of the page.
"""

from __future__ import annotations

import sys
import time
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from playwright.sync_api import expect, sync_playwright

from tests.review.browser.conftest import CHROMIUM, FLAGS, served
from tests.review.browser.invented import Said, write_leg
from voice.meaning.grammar import load_grammar

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Page

ENTRIES = 1_500
LENGTH = timedelta(hours=8)
TIMES = 9
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_ONES = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")

_COMPUTING = ("ScriptDuration", "LayoutDuration", "RecalcStyleDuration")


def _said(nth: int) -> Said:
    """Pressures among other values, one of five with a reading that was near."""
    tens, ones = _TENS[nth // 9 % 8], _ONES[nth % 9]
    if nth % 5 == 0:
        return Said(f"pressure {tens} {ones}", (f"pressure {_ONES[nth % 9]}",), sound_s=0.1)
    about = ("heart rate", "mean pressure", "oxygen", "carbon dioxide")[nth % 5 - 1]
    high = f"ninety {ones}" if about == "oxygen" else f"{_TENS[nth // 9 % 4]} {ones}"
    return Said(f"{about} {high}", sound_s=0.1)


class Took:
    """What one thing took, each time that it was done, in ms."""

    def __init__(self, page: Page) -> None:
        self._devtools = page.context.new_cdp_session(page)
        self._devtools.send("Performance.setTimeDomain", {"timeDomain": "threadTicks"})
        self._devtools.send("Performance.enable")
        self._clock: list[float] = []
        self._server: list[float] = []
        self._page: list[float] = []

    @contextmanager
    def once(self) -> Iterator[None]:
        """Do it within this."""
        before = (time.perf_counter(), time.process_time(), self._in_page())
        yield
        after = (time.perf_counter(), time.process_time(), self._in_page())
        clock, server, page = (1000 * (b - a) for a, b in zip(before, after, strict=True))
        self._clock.append(clock)
        self._server.append(server)
        self._page.append(page)

    def _in_page(self) -> float:
        metrics = self._devtools.send("Performance.getMetrics")["metrics"]
        found = {one["name"]: float(one["value"]) for one in metrics}
        return sum(found[name] for name in _COMPUTING)

    def tell(self, what: str) -> None:
        """Print the medians."""
        sys.stdout.write(
            f"{what}: {median(self._clock):.0f} ms by the clock; processor: server "
            f"{median(self._server):.0f} ms, page {median(self._page):.0f} ms\n"
        )


def main() -> None:
    """Build the leg, open it, act on it, and print what each took."""
    grammar = load_grammar()
    with TemporaryDirectory() as scratch, sync_playwright() as playwright:
        folder = Path(scratch) / "2026-05-01-1400"
        write_leg(folder, grammar, tuple(map(_said, range(ENTRIES))), LENGTH / (ENTRIES + 1))
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        with served(folder, grammar) as desk:
            for nth in ("the first time", "again"):
                page = browser.new_page()
                opening = Took(page)
                with opening.once():
                    page.goto(desk.address)
                    page.wait_for_selector("html[data-ready]", state="attached")
                opening.tell(f"opening, {nth}")
            page.fill("#who [name=name]", "A. Reviewer")
            page.fill("#who [name=role]", "nurse")
            page.keyboard.press("Enter")
            page.wait_for_selector("#who", state="hidden")
            going_on, acting = Took(page), Took(page)
            for turn in range(TIMES):
                page.focus("#list")
                title = page.text_content("#panel-title") or ""
                with going_on.once():
                    page.keyboard.press("j")
                    expect(page.locator("#panel-title")).not_to_have_text(title)
                page.keyboard.press("e")
                page.keyboard.type(str(31 + 2 * turn))
                page.wait_for_load_state("networkidle")
                with acting.once():
                    page.keyboard.press("Enter")
                    page.wait_for_selector("#said:not(:empty)")
                page.wait_for_load_state("networkidle")
            going_on.tell("to the next entry")
            acting.tell("an act, until its sentence stands")
        browser.close()


if __name__ == "__main__":
    main()
