"""The leg drawn over time: by mouse, by keys, and as tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playwright.sync_api import expect

from tests.review.browser.conftest import TABLET, looking

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

    from tests.review.browser.conftest import OpenDesk

_INKED = """() => [...document.querySelectorAll("#charts canvas")].map((canvas) => {
  const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
  return data.reduce((sum, value, at) => sum + (at % 4 === 3 && value > 200 ? 1 : 0), 0);
})"""


def _first_chart(page: Page) -> tuple[float, float, float]:
    """Its left edge, its middle from above, and its width, on the screen."""
    page.evaluate("scrollTo(0, 0)")
    box = page.locator("#charts .u-over").first.bounding_box()
    assert box is not None
    return box["x"], box["y"] + box["height"] / 2, box["width"]


def test_everything_told_is_drawn(page: Page) -> None:
    """There is a chart of each: ICP, CPP, level, output, and what was done."""
    names = page.locator("#charts h3").all_inner_texts()
    assert [name.split(",")[0] for name in names] == [
        "ICP", "CPP", "Drain level", "Output", "Drugs and events",
    ]  # fmt: skip
    assert all(ink > 500 for ink in page.evaluate(_INKED))


def test_values_are_read_by_keys(page: Page) -> None:
    """The arrow keys step through all that is drawn, and each is told in words."""
    page.focus("#list")
    page.keyboard.press("z")
    page.keyboard.press("Home")
    told = []
    for _ in range(int(page.locator("#moment").get_attribute("max") or 0) + 1):
        told.append(page.inner_text("#readout"))
        page.keyboard.press("ArrowRight")
    assert page.locator("#moment").get_attribute("aria-valuetext") == told[-1]
    assert any("ICP 14 mmHg, CPP 68 mmHg" in one for one in told)
    assert any("ICP 15 mmHg" in one and "unconfirmed" in one for one in told)
    assert any("Drain level 10" in one for one in told)
    assert any("Mannitol 50 g" in one for one in told)
    assert any("Wheels up" in one for one in told)
    assert any("Drain closed" in one for one in told)
    assert any("Drained" in one for one in told)
    assert told == sorted(told, key=lambda one: one[:8])


def test_an_entry_is_reached_from_the_time_line_by_keys(page: Page) -> None:
    """Enter on a value shows the entry that tells it."""
    page.focus("#moment")
    page.keyboard.press("Home")
    while "ICP 14 mmHg" not in page.inner_text("#readout"):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.locator("#panel-title")).to_have_text("Entry 4: ICP 14 mmHg")


def test_the_time_line_is_zoomed_by_keys_and_buttons(page: Page) -> None:
    """A shorter time is shown around the value that is read, and the whole leg again."""
    page.focus("#moment")
    whole = page.inner_text("#shown-time")
    page.keyboard.press("+")
    page.keyboard.press("+")
    shorter = page.inner_text("#shown-time")
    assert shorter != whole
    page.click("#later")
    assert page.inner_text("#shown-time") != shorter
    page.click("#whole")
    assert page.inner_text("#shown-time") == whole


def test_values_are_read_and_zoomed_by_mouse(page: Page) -> None:
    """Under the pointer the nearest value is told; a drag shows that time alone; a click its entry."""
    x, middle, width = _first_chart(page)
    page.mouse.move(x + 1, middle)
    first = page.inner_text("#readout")
    page.mouse.move(x + width / 2, middle)
    expect(page.locator("#readout")).not_to_have_text(first)
    whole = page.inner_text("#shown-time")
    page.mouse.move(x + width * 0.05, middle)
    page.mouse.down()
    page.mouse.move(x + width * 0.4, middle, steps=4)
    page.mouse.up()
    expect(page.locator("#shown-time")).not_to_have_text(whole)
    page.click("#whole")
    expect(page.locator("#shown-time")).to_have_text(whole)
    page.mouse.move(x + width * 4.0 / 27, middle)
    expect(page.locator("#readout")).to_contain_text("ICP 14 mmHg")
    page.mouse.down()
    page.mouse.up()
    expect(page.locator("#panel-title")).to_have_text("Entry 4: ICP 14 mmHg")


def test_a_finger_zooms_sideways_and_taps(browser: Browser, desk: OpenDesk) -> None:
    """On a tablet a finger that is drawn over a chart shows that time alone, and a tap its entry."""
    with looking(browser, desk.address, viewport=TABLET, has_touch=True) as page:
        whole = page.inner_text("#shown-time")
        x, y, width = _first_chart(page)
        page.touchscreen.tap(x + width * 4.0 / 27, y)
        expect(page.locator("#panel-title")).to_have_text("Entry 4: ICP 14 mmHg")
        assert page.inner_text("#shown-time") == whole

        x, y, width = _first_chart(page)
        finger = page.context.new_cdp_session(page)
        for part in (0.1, 0.2, 0.3, 0.4):
            what = "touchStart" if part == 0.1 else "touchMove"
            at = [{"x": x + width * part, "y": y}]
            finger.send("Input.dispatchTouchEvent", {"type": what, "touchPoints": at})
        finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        expect(page.locator("#shown-time")).not_to_have_text(whole)


def test_every_chart_has_its_table(page: Page) -> None:
    """All values that are drawn stand in tables as well, each with a way to its entry."""
    page.click("#tables-box summary")
    expect(page.locator("#tables caption")).to_have_text(  # they are made when the box has opened
        ["Pressures", "Drain level", "Drain closed", "Output by clock hour", "Drugs", "Events"]
    )
    pressures = page.locator("#tables table").first.locator("tbody tr").all_inner_texts()
    assert len(pressures) == 4
    assert pressures[0].split() == ["14:04", "14", "68", "Entry", "4"]
    assert "unconfirmed" in pressures[1]
    page.click("#tables button:has-text('Entry 5')")
    expect(page.locator("#panel-title")).to_have_text("Entry 5: ICP 15 mmHg")
