"""A leg across midnight, by a clock that is not that of UTC."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.review.browser.conftest import looking, served
from tests.review.flight import LEG, SETTINGS, START, Flight, When
from voice.record.shelf import load

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

    from voice.meaning.grammar import Grammar

_APART = timedelta(minutes=10)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Pressures at 23:40, 23:50, 00:00 and 00:10."""
    flight = Flight(tmp_path, When(LEG, START, SETTINGS, apart=_APART))
    for value in ("fourteen", "fifteen", "sixteen", "seventeen"):
        flight.say(f"pressure {value}")
    return flight.end()


@pytest.fixture
def page(browser: Browser, folder: Path, grammar: Grammar) -> Iterator[Page]:
    """A page at this leg."""
    with served(folder, grammar) as desk, looking(browser, desk.address) as opened:
        yield opened


def test_a_time_is_put_right_on_either_side_of_midnight(page: Page, folder: Path) -> None:
    """The form offers the time as it is typed; what is typed is the nearest, and is told with its day."""
    expect(page.locator("#entry-4 .time")).to_have_text("2 May 00:10")
    page.click("#entry-4")
    page.focus("#list")
    page.keyboard.press("t")
    expect(page.locator("#act-form [name=time]")).to_have_value("00:10")
    page.keyboard.press("End")
    page.keyboard.press("Backspace")
    page.keyboard.type("5")
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_contain_text(
        "Entry 4 is now entry 5: ICP 17 mmHg at 2 May 00:15."
    )
    page.keyboard.press("t")
    page.keyboard.type("23:55")
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_contain_text("Entry 5 is now entry 6: ICP 17 mmHg at 23:55.")
    moved = [one.happened_at for one in load(folder).entries[-2:]]
    assert moved == [START + timedelta(minutes=45), START + timedelta(minutes=25)]


def test_what_was_done_at_the_desk_is_told_with_its_day(page: Page) -> None:
    """An act of days later is not read as one of the leg's own evening."""
    page.click("#entry-1")
    page.focus("#list")
    page.keyboard.press("y")
    page.keyboard.press("Enter")
    words = page.locator("#panel-desk p").first
    expect(words).to_contain_text("Found right at the desk by A. Reviewer (nurse), ")
    told = (words.text_content() or "").split("(nurse), ")[1]
    day, month, _ = told.split(maxsplit=2)
    assert day.isdecimal()
    assert month.isalpha()
