"""A machine that answers late: what is pressed meanwhile is never taken for something else."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playwright.sync_api import expect

from tests.review.browser.slow import held

if TYPE_CHECKING:
    from playwright.sync_api import Page

    from tests.review.browser.conftest import OpenDesk


def test_a_reading_of_the_entry_before_is_not_taken_for_one_of_this(
    page: Page, desk: OpenDesk
) -> None:
    """Until the readings of an entry are there none is shown, and a digit marks none."""
    page.click("#entry-4")
    page.wait_for_selector("#alternatives input[value='1']")
    page.keyboard.press("2")
    with held(page, "**/data/entries/17/alternatives"):
        page.click("#entry-17")
        expect(page.locator("#alternatives")).to_be_hidden()
        page.focus("#list")
        page.keyboard.press("2")
        expect(page.locator("#said")).to_have_text("The other readings are not there yet.")
        assert page.locator("#alternatives input").count() == 0
    page.wait_for_selector("#alternatives input[value='1']")
    assert page.locator("#alternatives input:checked").count() == 0
    assert [entry.replaced_by for entry in desk.leg().entries if entry.number in {4, 17}] == [
        None,
        None,
    ]


def test_a_place_in_the_picture_is_kept_for_the_sound(page: Page) -> None:
    """Who clicks into the picture before the sound is there hears it from this place."""
    canvas = page.locator("#waveform")
    at = "document.getElementById('audio').currentTime"
    with held(page, "**/clips/*"):
        page.click("#entry-6")
        expect(canvas).to_have_attribute("aria-label", "Picture of 0.3 s of sound")
        canvas.click(position={"x": canvas.evaluate("one => one.clientWidth") / 2, "y": 9})
        assert 0.1 < page.evaluate(at) < 0.2
    page.wait_for_function("() => document.getElementById('audio').readyState > 0")
    assert 0.1 < page.evaluate(at) < 0.2


def test_readings_that_come_late_push_no_form_out_of_sight(page: Page) -> None:
    """What is typed, and what it becomes, stay in the window."""
    page.set_viewport_size({"width": 640, "height": 500})
    with held(page, "**/data/entries/17/alternatives"):
        page.click("#entry-17")
        page.focus("#list")
        page.keyboard.press("e")
        page.keyboard.type("15")
        expect(page.locator(".becomes")).to_be_in_viewport(ratio=1)
    page.wait_for_selector("#alternatives input[value='1']")
    expect(page.locator("#act-form [type=submit]")).to_be_in_viewport(ratio=1)
    page.keyboard.press("Escape")
    page.set_viewport_size({"width": 1280, "height": 900})


def test_what_is_typed_while_an_act_is_written_stays(page: Page) -> None:
    """An act that is done late closes no form of another entry."""
    with held(page, "**/acts"):
        page.click("#entry-8")
        page.focus("#list")
        page.keyboard.press("y")
        page.keyboard.press("Enter")
        page.click("#entry-9")
        page.focus("#list")
        page.keyboard.press("e")
        page.keyboard.type("104")
    expect(page.locator("#said")).not_to_be_empty()
    assert page.input_value("#act-form [name=text]") == "104"
