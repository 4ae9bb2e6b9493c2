"""How long the desk takes in the browser with a leg of 8 h and 1,500 entries.

``python -m tests.review.browser.bench``; `docs/bench.md` has what it gave. The server is a process of its
own, started as ``legbook review`` starts it. Told are milliseconds by the clock of the page itself, from
the address or the key until the first frame that shows what came of it: no waiting of the program that
drives the browser is in them. They grow with whatever else the machine does; so the processor time of the
server and of the page's scripts, styles and layout is told as well, up to the moment at which the bench
looks.
"""

from __future__ import annotations

import multiprocessing
import signal
import sys
import time
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from playwright.sync_api import sync_playwright

from tests.review.browser.conftest import CHROMIUM, FLAGS
from tests.review.browser.invented import Said, write_leg
from voice.commands.review import review

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, BrowserContext, Page

ENTRIES = 1_500
LENGTH = timedelta(hours=8)
OPENINGS = 5
TIMES = 15
PAUSE_MS = 500
"""Between two things that are done: what the page does afterwards is over by then."""
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_ONES = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")

_COMPUTING = ("ScriptDuration", "LayoutDuration", "RecalcStyleDuration")
_STOPWATCH = """
const there = (selector) => document.querySelector(selector) !== null;
const STANDS = {
  open: () => there("html[data-ready]") && there("#list [role=option]"),
  j: () => there("#waveform[aria-label*=' s of sound']"),
  Enter: () => there("#said:not(:empty)"),
};
window.stopwatch = { what: "open", from: 0, took: null };
const look = () => {
  if (!stopwatch.what || !STANDS[stopwatch.what]()) return;
  stopwatch.what = null;
  // a task after a frame: what stands is drawn
  requestAnimationFrame(() => setTimeout(() => { stopwatch.took = performance.now() - stopwatch.from; }));
};
addEventListener("keydown", ({ key, timeStamp }) => {
  window.stopwatch = { what: key in STANDS ? key : null, from: timeStamp, took: null };
}, true);
new MutationObserver(look).observe(document, {
  subtree: true, childList: true, attributes: true, characterData: true });
"""
"""Of the page: it runs from the opening, or from the last key, until what was asked for is drawn."""


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

    def __init__(self, page: Page, server_pid: int) -> None:
        self._page = page
        self._devtools = page.context.new_cdp_session(page)
        self._devtools.send("Performance.setTimeDomain", {"timeDomain": "threadTicks"})
        self._devtools.send("Performance.enable")
        self._server_clock = (~server_pid << 3) | 2  # as clock_getcpuclockid(3) of Linux gives it
        self.clock: list[float] = []
        self.server: list[float] = []
        self.page: list[float] = []

    @contextmanager
    def once(self) -> Iterator[None]:
        """Do it within this; it is waited for until it is drawn."""
        before = self._processor()
        yield
        while (took := self._page.evaluate("() => stopwatch.took")) is None:
            self._page.wait_for_timeout(20)
        self.clock.append(took)
        after = self._processor()
        server, page = (1000 * (b - a) for a, b in zip(before, after, strict=True))
        self.server.append(server)
        self.page.append(page)
        self._page.wait_for_timeout(PAUSE_MS)

    def _processor(self) -> tuple[float, float]:
        metrics = self._devtools.send("Performance.getMetrics")["metrics"]
        found = {one["name"]: float(one["value"]) for one in metrics}
        return time.clock_gettime(self._server_clock), sum(found[name] for name in _COMPUTING)


def _tell(what: str, *all_took: Took) -> None:
    """Print the medians, and the longest by the clock."""
    clock, server, page = (
        [one for took in all_took for one in getattr(took, of)]
        for of in ("clock", "server", "page")
    )
    sys.stdout.write(
        f"{what}: {median(clock):.0f} ms by the clock, {max(clock):.0f} at most; processor: "
        f"server {median(server):.0f} ms, page {median(page):.0f} ms\n"
    )


@contextmanager
def _reviewed(folder: Path) -> Iterator[tuple[str, int]]:
    """``legbook review`` of the leg in ``folder``: its address, and its process id."""
    context = multiprocessing.get_context("spawn")
    told = context.SimpleQueue()
    process = context.Process(target=_review, args=(folder, told))
    process.start()
    assert process.pid is not None
    try:
        yield told.get().rsplit(" ", maxsplit=1)[-1], process.pid
    finally:
        process.terminate()
        process.join()


def _review(folder: Path, told: multiprocessing.queues.SimpleQueue[str]) -> None:
    signal.signal(signal.SIGTERM, lambda *_: sys.exit())
    review(folder, told.put, readonly=False, port=0)


@contextmanager
def _window(browser: Browser) -> Iterator[BrowserContext]:
    with browser.new_context(viewport={"width": 1280, "height": 900}) as window:
        window.add_init_script(_STOPWATCH)
        yield window


def _opened(window: BrowserContext, address: str, server_pid: int) -> tuple[Page, Took]:
    """The page in a new tab, and what its opening took."""
    page = window.new_page()
    page.wait_for_timeout(PAUSE_MS)
    opening = Took(page, server_pid)
    with opening.once():
        page.goto(address)
    return page, opening


def main() -> None:
    """Build the leg, open it, act on it, and print what each took."""
    with TemporaryDirectory() as scratch, sync_playwright() as playwright:
        folder = Path(scratch) / "2026-05-01-1400"
        write_leg(folder, tuple(map(_said, range(ENTRIES))), LENGTH / (ENTRIES + 1))
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        first, again = [], []
        for _ in range(OPENINGS):
            with _reviewed(folder) as (address, server_pid), _window(browser) as window:
                first.append(_opened(window, address, server_pid)[1])
        _tell("opening, the first time after its start", *first)
        with _reviewed(folder) as (address, server_pid), _window(browser) as window:
            page, _ = _opened(window, address, server_pid)
            for _ in range(OPENINGS):
                page.close()
                page, opening = _opened(window, address.split("?", maxsplit=1)[0], server_pid)
                again.append(opening)
            _tell("opening, again", *again)
            page.fill("#who [name=name]", "A. Reviewer")
            page.fill("#who [name=role]", "nurse")
            page.keyboard.press("Enter")
            page.wait_for_selector("#who", state="hidden")
            page.wait_for_timeout(PAUSE_MS)
            going_on, acting = Took(page, server_pid), Took(page, server_pid)
            for turn in range(TIMES):
                page.focus("#list")
                with going_on.once():
                    page.keyboard.press("j")
                page.keyboard.press("e")
                page.keyboard.type(str(31 + 2 * turn))
                page.wait_for_timeout(PAUSE_MS)
                with acting.once():
                    page.keyboard.press("Enter")
            _tell("to the next entry, with its picture", going_on)
            _tell("an act, until its sentence stands", acting)
        browser.close()


if __name__ == "__main__":
    main()
