"""Hearing the sounds of a leg, one after the other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playwright.sync_api import expect

if TYPE_CHECKING:
    from playwright.sync_api import Page

    from tests.review.browser.conftest import OpenDesk


def _count(page: Page) -> int:
    return int(page.inner_text("#counter").split()[0])


def test_what_is_played_to_its_end_is_counted(page: Page, desk: OpenDesk) -> None:
    """A sound counts as listened to when all of it was played, and that is written down."""
    page.focus("#list")
    page.keyboard.press("Home")
    before = _count(page)
    page.keyboard.press("p")
    expect(page.locator("#counter")).to_contain_text(f"{before + 1} of")
    expect(page.locator("#panel-facts")).to_contain_text("listened to")
    assert page.locator("#list [aria-selected=true]").inner_text().count("not listened to") == 0
    assert desk.heard_sounds() == 1


def test_what_was_gone_past_is_not_counted(page: Page) -> None:
    """Whoever goes to the end of a sound with the slider has not listened to it."""
    page.keyboard.press("j")
    before = _count(page)
    page.wait_for_function("() => document.getElementById('audio').readyState === 4")
    page.evaluate(
        """() => {
          const place = document.getElementById("place");
          place.value = String(Number(place.max) - 0.05);
          place.dispatchEvent(new Event("input"));
        }"""
    )
    page.keyboard.press("p")
    page.wait_for_function("() => document.getElementById('audio').ended")
    page.keyboard.press("r")
    expect(page.locator("#counter")).to_contain_text(f"{before + 1} of")


def test_each_is_played_as_one_comes_to_it(page: Page) -> None:
    """Going on to the next plays it, where that was asked for."""
    page.check("#play-each")
    before = _count(page)
    page.keyboard.press("j")
    expect(page.locator("#counter")).to_contain_text(f"{before + 1} of")
    page.uncheck("#play-each")


def test_it_is_played_slower(page: Page) -> None:
    """Three quarters of the speed, until it is switched back; the next sound as well."""
    rate = "document.getElementById('audio').playbackRate"
    page.focus("#list")
    page.keyboard.press("s")
    assert page.evaluate(rate) == 0.75
    page.keyboard.press("j")
    page.keyboard.press("p")
    assert page.evaluate(rate) == 0.75
    page.click("#slower")
    assert page.evaluate(rate) == 1


def test_previous_and_next_by_mouse(page: Page) -> None:
    """The buttons beside the sound go through the list."""
    first = page.text_content("#panel-title")
    page.click("#next")
    assert page.text_content("#panel-title") != first
    page.click("#previous")
    assert page.text_content("#panel-title") == first


def test_the_sound_is_drawn(page: Page) -> None:
    """The picture shows the sound, and a place in it can be chosen by mouse."""
    canvas = page.locator("#waveform")
    expect(canvas).to_have_attribute("aria-label", "Picture of 0.3 s of sound")
    inked = page.evaluate(
        """() => {
          const canvas = document.getElementById("waveform");
          const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
          return data.some((value, at) => at % 4 === 3 && value > 0);
        }"""
    )
    assert inked
    expect(page.locator("#played")).to_contain_text("/ 0.3 s")
    canvas.click(position={"x": canvas.evaluate("one => one.clientWidth") / 2, "y": 9})
    page.wait_for_function(
        """() => {
          const { currentTime, seeking } = document.getElementById("audio");
          return 0.1 < currentTime && currentTime < 0.2 && !seeking;
        }"""
    )


def test_only_what_was_not_listened_to_is_shown(page: Page) -> None:
    """The list can be cut down to the sounds that nobody has played, and says how many there are."""
    page.select_option("#shown", "unheard")
    told = page.locator("#list [role=option]").all_text_contents()
    assert told
    assert all("not listened to" in one for one in told)
    assert page.inner_text("#list-count") == f"{len(told)} shown"
    page.select_option("#shown", "counting")


def test_the_list_comes_by_need_or_by_time(page: Page) -> None:
    """What needs a look first stands first, until the list is asked for by time."""
    page.focus("#list")
    by_need = page.locator("#list [role=option]").all_text_contents()
    assert "unconfirmed" in by_need[0]
    page.keyboard.press("o")
    times = page.locator("#list .time").all_text_contents()
    assert times == sorted(times)
    page.click("#by-need")
    assert page.locator("#list [role=option]").all_text_contents() == by_need
