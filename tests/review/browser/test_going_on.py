"""A leg that goes on while it is looked at, and one that broke off."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.review.browser.accessibility import violations
from tests.review.browser.conftest import looking, served, wait_until_open
from tests.review.browser.invented import START
from tests.review.browser.slow import held
from tests.review.browser.test_for_everybody import SCHEMES
from tests.review.flight import Flight, When
from voice.entries.review import Reviewer
from voice.meaning.decision import AskBetween
from voice.meaning.grammar import load_grammar
from voice.record.events import Kept, Noticed
from voice.record.shelf import load
from voice.review.acts import ACT
from voice.review.desk import Desk

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

    from voice.meaning.grammar import Grammar

_POLL_MS = 16_000


@pytest.fixture
def flight(tmp_path: Path) -> Iterator[Flight]:
    """A leg that is being flown."""
    flown = Flight(tmp_path, When("2026-05-01-1400", START))
    flown.say("pressure fourteen")
    flown.say("drain clamped")
    yield flown
    flown.journal.close()


@pytest.fixture
def page(browser: Browser, flight: Flight, grammar: Grammar) -> Iterator[Page]:
    """A page at this leg."""
    with served(flight.folder, grammar) as desk, looking(browser, desk.address) as opened:
        yield opened


def _stop_clock(page: Page) -> None:
    """From now on the page's time passes only where a test says so."""
    page.clock.install()
    page.reload()
    wait_until_open(page)


def test_a_page_follows_a_leg_that_goes_on(page: Page, flight: Flight) -> None:
    """New speech, what comes of it, and trouble of the program show without being asked for."""
    _stop_clock(page)
    first, second = flight.means("pressure fifteen"), flight.means("pressure fifty")
    start_at, clip = flight.hear(
        AskBetween(first=first, second=second), "pressure fifteen", "pressure fifty"
    )
    flight.journal.append(Noticed(at=start_at, text="The microphone is gone."))
    page.clock.run_for(_POLL_MS)
    gap = page.locator("[id^=gap-]")
    expect(gap).to_contain_text("asked about, never answered")
    assert "The microphone is gone." in (page.text_content("#leg-told") or "")

    gap.click()
    expect(page.locator("#panel-title")).to_have_text("Speech without an entry")
    meaning = first.meaning
    flight.journal.append(
        Kept(
            at=start_at,
            number=3,
            entry=meaning.entry,  # type: ignore[union-attr]
            heard="pressure fifteen",
            spoken_at=start_at,
            happened_at=start_at,
            clip=clip,
        )
    )
    page.clock.run_for(_POLL_MS)
    expect(page.locator("#entry-3")).to_contain_text("ICP 15 mmHg")
    expect(gap).to_have_count(0)
    expect(page.locator("#panel-empty")).to_be_visible()


def test_the_whole_leg_stays_in_sight(page: Page, flight: Flight) -> None:
    """A time line that showed all of the leg shows what has come since, too."""
    _stop_clock(page)
    expect(page.locator("#shown-time")).to_have_text("14:00 to 14:02")
    flight.say("pressure sixteen")
    page.clock.run_for(_POLL_MS)
    expect(page.locator("#shown-time")).to_have_text("14:00 to 14:03")


def test_the_end_of_a_leg_that_broke_off_is_told(page: Page, flight: Flight) -> None:
    """By keys alone, with the last that is known at hand; told wrongly, it is told again."""
    flight.journal.close()
    expect(page.locator("#ended")).to_have_text("Nobody told when it was over.")
    page.keyboard.press("d")
    expect(page.locator("#end-told")).to_contain_text("The last that is known of it is of 14:02.")
    expect(page.locator("#end [name=time]")).to_have_value("14:02")
    page.keyboard.type("14:01")
    page.keyboard.press("Enter")
    expect(page.locator("#end-trouble")).to_contain_text("Drain clamped, happened at")
    page.fill("#end [name=time]", "14:20")
    for scheme in SCHEMES:
        page.emulate_media(color_scheme=scheme)
        assert violations(page) == []
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_contain_text("ended 01 May 14:20, as A. Reviewer, nurse")
    expect(page.locator("#ended")).to_have_text("Over at 14:20, as A. Reviewer (nurse) tells.")
    page.click("#tables-box summary")
    expect(page.locator("#tables")).to_contain_text("18")
    assert load(flight.folder).ended_at == START + timedelta(minutes=20)

    page.click("#open-end")
    expect(page.locator("#end [name=why]")).to_have_value("told wrongly before")
    expect(page.locator("#end [name=time]")).to_have_value("14:20")
    page.fill("#end [name=time]", "14:10")
    page.click("#end [type=submit]")
    expect(page.locator("#ended")).to_contain_text("Over at 14:10")


def test_another_end_that_was_told_meanwhile_is_told_first(page: Page, flight: Flight) -> None:
    """Nobody overrules an end that she has not read; what was typed is still there."""
    flight.journal.close()
    page.keyboard.press("d")
    page.fill("#end [name=time]", "14:30")
    other = Desk(flight.folder, load_grammar(), lambda: START + timedelta(hours=9))
    told = {"act": "end", "head": other.head, "time": "14:20"}
    other.do(ACT.validate_python(told), Reviewer(name="B. Second", role="physician"))
    other.close()
    page.click("#end [type=submit]")
    expect(page.locator("#end-trouble")).to_contain_text("changed by B. Second, physician")
    expect(page.locator("#end-told")).to_contain_text("over at 14:20, as B. Second (physician)")
    expect(page.locator("#end [name=time]")).to_have_value("14:30")
    page.click("#end [type=submit]")
    expect(page.locator("#ended")).to_have_text("Over at 14:30, as A. Reviewer (nurse) tells.")


def test_the_end_is_sent_once(page: Page, flight: Flight) -> None:
    """A second Enter on a slow machine tells no second end."""
    flight.journal.close()
    page.keyboard.press("d")
    with held(page, "**/acts") as asked:
        page.keyboard.press("Enter")
        page.keyboard.press("Enter")
        asked()
    expect(page.locator("#ended")).to_contain_text("Over at 14:02")
    expect(page.locator("#end")).to_be_hidden()
    assert page.text_content("#trouble") == ""


def test_a_leg_that_was_ended_by_voice_offers_no_other_end(
    page: Page, flight: Flight, browser: Browser, grammar: Grammar
) -> None:
    """Where "end leg" was said, there is nothing to press, and the key says why."""
    expect(page.locator("#open-end")).to_be_visible()
    folder = flight.end()
    with served(folder, grammar) as desk, looking(browser, desk.address) as other:
        assert other.is_hidden("#open-end")
        other.keyboard.press("d")
        expect(other.locator("#said")).to_contain_text("“End leg” was said")
        assert other.is_hidden("#end")
