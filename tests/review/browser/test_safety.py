"""Two people at one leg, a desk that was left alone, and one that is only looked at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playwright.sync_api import expect

from tests.review.browser.conftest import looking, served, wait_until_open

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Browser, Page

    from tests.review.browser.conftest import OpenDesk
    from voice.meaning.grammar import Grammar


def _stop_clock(page: Page) -> None:
    """From now on the page's time passes only where a test says so."""
    page.clock.install()
    page.reload()
    wait_until_open(page)


def test_two_people_at_once_lose_nothing(browser: Browser, desk: OpenDesk) -> None:
    """Whoever comes second is told what the first has done, and what was typed is still there."""
    with (
        looking(browser, desk.address) as first,
        looking(browser, desk.address, "B. Second") as second,
    ):
        first.click("#entry-4")
        first.keyboard.press("e")
        first.keyboard.type("24")

        second.click("#entry-4")
        second.keyboard.press("e")
        second.keyboard.type("34")
        second.keyboard.press("Enter")
        expect(second.locator("#said")).to_contain_text("34 mmHg")

        first.keyboard.press("Enter")
        expect(first.locator("#trouble")).to_contain_text("Entry 4 was changed by B. Second")
        assert first.input_value("#act-form [name=text]") == "24"
        expect(first.locator("#panel-title")).to_contain_text("ICP 34 mmHg")

        first.keyboard.press("Enter")
        expect(first.locator("#said")).to_contain_text("24 mmHg")
    values = [str(e.entry.value) for e in desk.leg().entries if e.entry.kind == "pressure"]
    assert values[-2:] == ["34.0", "24.0"]


def test_a_page_shows_what_somebody_else_has_changed(browser: Browser, desk: OpenDesk) -> None:
    """Without being asked, a page takes over the other's changes and leaves alone what is typed."""
    with looking(browser, desk.address) as first, looking(browser, desk.address, None) as second:
        second.keyboard.press("Escape")
        _stop_clock(second)
        second.keyboard.press("Escape")
        first.click("#entry-8")
        first.keyboard.press("w")
        first.keyboard.press("Enter")
        expect(first.locator("#said")).to_contain_text("withdrawn")
        second.clock.run_for(16_000)
        expect(second.locator("#said")).to_contain_text("Somebody else")
        expect(second.locator("#entry-8 .state")).to_have_text("withdrawn")


def test_what_was_taken_over_meanwhile_is_still_in_the_way(
    browser: Browser, desk: OpenDesk
) -> None:
    """What the other did counts from when one began to decide, though the page shows it by then."""
    with looking(browser, desk.address) as first, looking(browser, desk.address) as second:
        _stop_clock(second)
        second.click("#entry-5")
        second.keyboard.press("e")
        second.keyboard.type("18")
        first.click("#entry-5")
        first.keyboard.press("y")
        first.keyboard.press("Enter")
        expect(first.locator("#entry-5 .state")).to_have_text("reviewed")
        second.clock.run_for(16_000)
        expect(second.locator("#entry-5 .state")).to_have_text("reviewed")
        second.keyboard.press("Enter")
        expect(second.locator("#trouble")).to_contain_text("Entry 5 was")
        second.keyboard.press("Enter")
        expect(second.locator("#said")).to_contain_text("18 mmHg")


def test_a_leg_that_is_only_looked_at_offers_no_act(
    browser: Browser, own_leg: Path, grammar: Grammar
) -> None:
    """Read-only there is nothing to press that would change the leg, and the page says why."""
    with (
        served(own_leg, grammar, readonly=True) as desk,
        looking(browser, desk.address, None) as page,
    ):
        page.wait_for_selector("#alternatives:visible, #no-alternatives:visible")
        assert page.locator("#acts button").count() == 0
        assert page.is_hidden("#open-sign-off")
        page.keyboard.press("w")
        expect(page.locator("#said")).to_contain_text("looked at only")
        page.keyboard.press("g")
        assert page.is_hidden("#sign-off")


def test_a_desk_that_was_left_alone_locks_itself_and_keeps_what_was_typed(
    browser: Browser, own_leg: Path, grammar: Grammar
) -> None:
    """An hour later nothing is written; the page says how to go on, with the text still in it."""
    with served(own_leg, grammar) as desk, looking(browser, desk.address) as page:
        page.click("#entry-9")
        page.keyboard.press("c")
        page.keyboard.type("Half a sentence")
        desk.end_sessions()
        page.click("#act-form [type=submit]")
        expect(page.locator("#trouble")).to_contain_text("legbook review was started")
        assert page.input_value("#act-form [name=text]") == "Half a sentence"
        page.reload()
        assert "locked" in page.inner_text("h1")


def test_the_desk_is_locked_by_hand(browser: Browser, desk: OpenDesk) -> None:
    """Whoever goes away locks the page, and nothing of the leg is left on it."""
    with looking(browser, desk.address) as page:
        page.click("#lock")
        expect(page.locator("h1")).to_contain_text("locked")
        assert "ICP" not in page.inner_text("body")


def test_a_second_person_is_given_an_address(browser: Browser, desk: OpenDesk) -> None:
    """The address that the page gives out lets one more browser in."""
    with looking(browser, desk.address) as page:
        page.click("#open-seat")
        expect(page.locator("#seat")).to_be_visible()
        address = page.input_value("#seat-address")
        with looking(browser, address, "B. Second") as second:
            assert second.text_content("#reviewer") == "B. Second (nurse)"
