"""How long the desk takes in the browser with a leg of 8 h and 1,500 entries.

``python -m tests.review.browser.bench``; `docs/bench.md` has what it gave.
"""

from __future__ import annotations

import sys
import time
from datetime import timedelta
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from playwright.sync_api import sync_playwright

from tests.review.browser.conftest import CHROMIUM, FLAGS, served
from tests.review.browser.invented import Said, write_leg
from voice.meaning.grammar import load_grammar

if TYPE_CHECKING:
    from playwright.sync_api import Page

ENTRIES = 1_500
LENGTH = timedelta(hours=8)
TIMES = 15
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_ONES = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")

_MEASURE = """
async ([key, selector, words]) => {
  const done = new Promise((resolve) => {
    const look = () => {
      if (document.querySelector(selector).textContent.includes(words)) resolve(performance.now());
      else requestAnimationFrame(look);
    };
    requestAnimationFrame(look);
  });
  const start = performance.now();
  const target = document.activeElement ?? document.body;
  if (key === "Enter") target.form.requestSubmit();
  else target.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true }));
  return (await done) - start;
}
"""


def _said(nth: int) -> Said:
    """Pressures among other values, one of five with a reading that was near."""
    tens, ones = _TENS[nth // 9 % 8], _ONES[nth % 9]
    if nth % 5 == 0:
        return Said(f"pressure {tens} {ones}", (f"pressure {_ONES[nth % 9]}",), sound_s=0.1)
    about = ("heart rate", "mean pressure", "oxygen", "carbon dioxide")[nth % 5 - 1]
    high = f"ninety {ones}" if about == "oxygen" else f"{_TENS[nth // 9 % 4]} {ones}"
    return Said(f"{about} {high}", sound_s=0.1)


def main() -> None:
    """Build the leg, open it, act on it, and print what each took."""
    grammar = load_grammar()
    with TemporaryDirectory() as scratch, sync_playwright() as playwright:
        folder = Path(scratch) / "2026-05-01-1400"
        write_leg(folder, grammar, tuple(map(_said, range(ENTRIES))), LENGTH / (ENTRIES + 1))
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        with served(folder, grammar) as desk:
            opened_s = []
            for _ in range(3):
                page = browser.new_page()
                start = time.perf_counter()
                page.goto(desk.address)
                page.wait_for_selector("html[data-ready]")
                opened_s.append(time.perf_counter() - start)
            page.fill("#who [name=name]", "A. Reviewer")
            page.fill("#who [name=role]", "nurse")
            page.keyboard.press("Enter")
            page.wait_for_selector("#who", state="hidden")
            _tell("opening, the first time", [opened_s[0] * 1000])
            _tell("opening, again", [s * 1000 for s in opened_s[1:]])
            _tell("to the next entry", [_next(page) for _ in range(TIMES)])
            _tell("an act, until its sentence stands", [_act(page) for _ in range(TIMES)])
        browser.close()


def _next(page: Page) -> float:
    """From the key to the next entry's alternatives, in ms."""
    title = page.text_content("#panel-title") or ""
    page.focus("#list")
    nth = page.evaluate(
        "[...document.querySelectorAll('#list > li')].findIndex(o => o.ariaSelected === 'true')"
    )
    number = page.locator("#list > li").nth(nth + 1).get_attribute("id") or ""
    assert number not in title
    words = f"Entry {number.removeprefix('entry-')}:"
    taken: float = page.evaluate(_MEASURE, ["j", "#panel-title", words])
    return taken


def _act(page: Page) -> float:
    """From Enter to the sentence that tells what was written, in ms."""
    page.focus("#list")
    page.keyboard.press("j")
    page.keyboard.press("e")
    value = 31 + int(time.perf_counter() * 1000) % 60
    page.keyboard.type(str(value))
    page.focus("#act-form [name=text]")
    taken: float = page.evaluate(_MEASURE, ["Enter", "#said", "Entry "])
    return taken


def _tell(what: str, took_ms: list[float]) -> None:
    sys.stdout.write(f"{what}: median {median(took_ms):.0f} ms, most {max(took_ms):.0f} ms\n")


if __name__ == "__main__":
    main()
