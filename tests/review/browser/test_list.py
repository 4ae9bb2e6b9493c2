"""A list that is longer than a screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.review.browser.conftest import looking, served
from tests.review.browser.invented import Said, write_leg

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page

    from voice.meaning.grammar import Grammar

ENTRIES = 130
_ORDERED_ANEW = """(key) => {
  const list = document.getElementById("list");
  document.getElementById("by-time").click();
  const drawn = document.querySelectorAll("#list [role=option]").length;
  list.dispatchEvent(new KeyboardEvent("keydown", { key }));
  return [drawn, list.getAttribute("aria-activedescendant")];
}"""


@pytest.fixture(scope="module")
def page(
    browser: Browser, tmp_path_factory: pytest.TempPathFactory, grammar: Grammar
) -> Iterator[Page]:
    """A page at a long leg."""
    folder = tmp_path_factory.mktemp("legs") / "2026-05-01-1400"
    said = (Said("heart rate ninety", sound_s=0.1),) * ENTRIES
    write_leg(folder, said)
    with served(folder, grammar) as desk, looking(browser, desk.address) as opened:
        yield opened


def test_all_of_a_long_list_is_drawn_in_its_order(page: Page) -> None:
    """What is not on the first screen follows, each once and in its place."""
    options = page.locator("#list [role=option]")
    expect(options).to_have_count(ENTRIES)
    keys = options.evaluate_all("all => all.map((one) => one.id)")
    assert keys == [f"entry-{number}" for number in range(1, ENTRIES + 1)]


def test_what_is_not_drawn_yet_can_be_chosen(page: Page) -> None:
    """A key that is quicker than the list is finds its entry, on the screen and chosen."""
    drawn, chosen = page.evaluate(_ORDERED_ANEW, "End")
    assert drawn < ENTRIES
    assert chosen == f"entry-{ENTRIES}"
    expect(page.locator(f"#{chosen}")).to_be_in_viewport()
    expect(page.locator("#panel-title")).to_contain_text(f"Entry {ENTRIES}:")


def test_what_is_chosen_stays_so_when_the_order_changes(page: Page) -> None:
    """Far down or not, it is marked in the list that was put in order anew."""
    page.focus("#list")
    page.keyboard.press("End")
    page.keyboard.press("o")
    chosen = page.locator("#list [aria-selected=true]")
    assert chosen.get_attribute("id") == f"entry-{ENTRIES}"
    assert page.get_attribute("#list", "aria-activedescendant") == f"entry-{ENTRIES}"


def test_a_sentence_leaves_the_list_where_it_is(page: Page) -> None:
    """What the page says has a place of its own: nothing moves under the mouse."""
    page.focus("#list")
    page.keyboard.press("End")
    expect(page.locator("#said")).to_be_empty()
    before = page.locator("#list").bounding_box()
    page.keyboard.press("9")
    expect(page.locator("#said")).to_contain_text("no reading 9")
    assert page.locator("#list").bounding_box() == before
