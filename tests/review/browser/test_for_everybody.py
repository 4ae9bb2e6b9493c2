"""With a screen reader, without colour, on a tablet, enlarged: the desk can be used."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import pytest
from playwright.sync_api import expect

from tests.review.browser.accessibility import violations
from tests.review.browser.conftest import TABLET, looking

if TYPE_CHECKING:
    from collections.abc import Callable

    from playwright.sync_api import Browser, Page

    from tests.review.browser.conftest import OpenDesk

ENLARGED = {"width": 640, "height": 450}
"""What a window of 1280 by 900 has room for when all is shown twice as large."""


def _form(page: Page) -> None:
    page.click("#entry-5")
    page.click("#acts button:has-text('Correct it')")
    page.fill("#act-form [name=text]", "fifty")
    expect(page.locator(".becomes")).not_to_be_empty()


def _speech(page: Page) -> None:
    page.select_option("#shown", "gaps")
    page.locator("[id^=gap-]").first.click()


def _tables(page: Page) -> None:
    page.click("#tables-box summary")
    page.click("#leg-title")
    expect(page.locator("#tables table").first).to_be_visible()


def _window(key: str, name: str) -> Callable[[Page], None]:
    def open_it(page: Page) -> None:
        page.focus("#list")
        page.keyboard.press(key)
        expect(page.locator(name)).to_be_visible()

    return open_it


def _who(page: Page) -> None:
    page.click("#open-who")


def _seat(page: Page) -> None:
    page.click("#open-seat")
    expect(page.locator("#seat")).to_be_visible()


def _trouble(page: Page) -> None:
    page.click("#entry-5")
    page.keyboard.press("t")
    page.keyboard.type("99:99")
    page.keyboard.press("Enter")
    expect(page.locator("#trouble")).not_to_be_empty()


VIEWS: dict[str, Callable[[Page], None]] = {
    "form": _form,
    "speech": _speech,
    "tables": _tables,
    "help": _window("?", "#help"),
    "summary": _window("v", "#summary"),
    "sign off": _window("g", "#sign-off"),
    "who": _who,
    "seat": _seat,
    "trouble": _trouble,
}
SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")


@pytest.mark.parametrize("view", VIEWS)
def test_axe_finds_no_violation(page: Page, view: str) -> None:
    """No view of the desk breaks a rule of axe, neither light nor dark."""
    VIEWS[view](page)
    found = {}
    for scheme in SCHEMES:
        page.emulate_media(color_scheme=scheme)
        found[scheme] = violations(page)
    page.keyboard.press("Escape")
    page.select_option("#shown", "counting")
    assert found == {"light": [], "dark": []}


def test_a_locked_desk_breaks_no_rule(browser: Browser, desk: OpenDesk) -> None:
    """Whoever comes without an address that works reads how to go on."""
    context = browser.new_context()
    page = context.new_page()
    page.goto(desk.address.split("?", maxsplit=1)[0])
    assert "legbook review was started" in page.inner_text("main")
    assert violations(page) == []
    context.close()


@pytest.mark.parametrize("size", [TABLET, ENLARGED, {"width": 320, "height": 640}])
def test_nothing_is_cut_off_beside_the_window(page: Page, size: dict[str, int]) -> None:
    """On a tablet, or enlarged up to four times, the page scrolls in one direction only."""
    page.set_viewport_size({"width": size["width"], "height": size["height"]})
    page.click("#entry-5")
    page.keyboard.press("e")
    wide = page.evaluate("document.documentElement.scrollWidth")
    page.keyboard.press("Escape")
    page.set_viewport_size({"width": 1280, "height": 900})
    assert wide <= size["width"]


def test_what_came_of_an_act_is_spoken_by_a_screen_reader(page: Page) -> None:
    """Results go to a region that is read out when it is quiet, trouble at once."""
    assert page.locator("#said").get_attribute("role") == "status"
    assert page.locator("#trouble").get_attribute("role") == "alert"
    for landmark in ("banner", "main", "contentinfo"):
        assert page.get_by_role(landmark).count() == 1
    chosen = page.locator("#list [role=option][aria-selected=true]")
    assert chosen.count() == 1
    active = page.locator("#list").get_attribute("aria-activedescendant")
    assert chosen.get_attribute("id") == active


def test_the_states_are_told_in_words(page: Page) -> None:
    """What is unconfirmed, and what became nothing, is told apart without any colour."""
    assert "unconfirmed" in (page.text_content("#entry-5") or "")
    assert page.text_content("#entry-20 .state") == "kept as sound"
    told = page.locator("[id^=gap-]").all_text_contents()
    assert any("not understood" in one for one in told)
    assert any("taken for other talk" in one for one in told)


def test_the_caution_stands_on_the_page(page: Page) -> None:
    """The page says that it never orders care."""
    assert "it never orders care" in page.inner_text("footer")


def test_single_keys_can_be_switched_off(browser: Browser, desk: OpenDesk) -> None:
    """For whoever speaks to the browser, a letter alone does nothing, and arrows still do."""
    with looking(browser, desk.address) as page:
        page.keyboard.press("?")
        page.uncheck("#single-keys")
        page.keyboard.press("Escape")
        page.focus("#list")
        page.keyboard.press("w")
        assert page.is_hidden("#act-place")
        first = page.locator("#list").get_attribute("aria-activedescendant")
        page.keyboard.press("ArrowDown")
        assert page.locator("#list").get_attribute("aria-activedescendant") != first


def test_the_help_lists_every_act_with_its_key(page: Page) -> None:
    """Each button that shows a key does what the help says under it."""
    page.click("#entry-5")
    page.wait_for_selector("#acts kbd")
    keys = set(page.locator("#acts kbd, header kbd").all_inner_texts())
    page.focus("#list")
    page.keyboard.press("?")
    listed = set(page.locator("#keys kbd").all_inner_texts())
    page.keyboard.press("Escape")
    assert {"y", "e", "t", "w", "a", "c", "v", "g", "?"} <= keys <= listed
