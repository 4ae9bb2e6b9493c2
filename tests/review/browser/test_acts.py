"""Everything that a reviewer can do to an entry, by keys alone and by mouse alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from voice.entries.leg import EntryState

if TYPE_CHECKING:
    from playwright.sync_api import Page

    from tests.review.browser.conftest import OpenDesk
    from voice.entries.leg import LegEntry

MOST_KEYS = 3


def _told(page: Page, words: str) -> None:
    """Wait until the page has said something with these words in it."""
    expect(page.locator("#said")).to_contain_text(words)


def _at(page: Page, key: str) -> None:
    """Look at an entry ("entry-4") or at speech without one ("gap-66")."""
    page.click(f"#{key}")
    page.wait_for_selector("#no-alternatives:visible, #alternatives:visible, #panel-body")
    page.focus("#list")


def _entry(desk: OpenDesk, number: int) -> LegEntry:
    return desk.leg().entries[number - 1]


def _last(desk: OpenDesk) -> LegEntry:
    return desk.leg().entries[-1]


def _first_gap(page: Page) -> str:
    return page.locator("[id^=gap-]").first.get_attribute("id") or ""


class Hands:
    """Does what is asked either by keys alone or by mouse alone (and keys for text)."""

    def __init__(self, page: Page, way: str) -> None:
        self._page = page
        self._keys = way == "keys"

    def open(self, key: str, name: str) -> None:
        """Open the form of an act."""
        if self._keys:
            self._page.keyboard.press(key)
        else:
            self._page.click(f"#acts button:has-text('{name}')")

    def type(self, text: str, field: str = "text") -> None:
        """Fill in the field that has the focus, or the one that is clicked on."""
        if not self._keys:
            self._page.click(f"#act-form [name={field}]")
        self._page.keyboard.press("Control+A")
        self._page.keyboard.type(text)

    def do(self, *, in_lines: bool = False) -> None:
        """Send the form."""
        if not self._keys:
            self._page.click("#act-form [type=submit]")
            return
        while in_lines and self._page.evaluate("document.activeElement.type") != "submit":
            self._page.keyboard.press("Tab")
        self._page.keyboard.press("Enter")


@pytest.fixture(params=["keys", "mouse"])
def hands(request: pytest.FixtureRequest, page: Page) -> Hands:
    """Both ways, one after the other."""
    return Hands(page, request.param)


def _pick(request: pytest.FixtureRequest, by_keys: int, by_mouse: int) -> int:
    """Each way has an entry of its own."""
    return by_keys if request.node.callspec.params["hands"] == "keys" else by_mouse


def test_the_common_correction_takes_at_most_three_keys(page: Page, desk: OpenDesk) -> None:
    """From the entry that is looked at, another reading is taken with a digit and Enter."""
    _at(page, "entry-4")
    page.wait_for_selector("#alternatives input[value='1']")
    keys = ["2", "Enter"]
    assert len(keys) <= MOST_KEYS
    for key in keys:
        page.keyboard.press(key)
    _told(page, "ICP 40 mmHg")
    before, after = _entry(desk, 4), _last(desk)
    assert (before.state, before.replaced_by) == (EntryState.CORRECTED, after.number)
    assert after.replaces == 4
    assert after.desk is not None
    assert (after.desk.by.name, after.desk.by.role) == ("A. Reviewer", "nurse")
    assert page.text_content("#panel-title") == f"Entry {after.number}: ICP 40 mmHg"
    assert page.evaluate("document.activeElement.id") == "list"


def test_the_first_record_stays_one_click_away(page: Page) -> None:
    """What stood before a correction is shown with who corrected it, when and why."""
    _at(page, "entry-17")
    page.wait_for_selector("#alternatives input[value='1']")
    page.keyboard.press("2")
    page.keyboard.press("Enter")
    _told(page, "Mannitol 15 g")
    page.click("#first-record summary")
    page.wait_for_selector("#history li")
    told = page.inner_text("#history")
    assert "Entry 17: Mannitol 50 g" in told
    assert "Corrected at the desk by A. Reviewer (nurse)" in told
    assert "misheard" in told


def test_another_reading_is_taken_by_mouse(page: Page, desk: OpenDesk) -> None:
    """A click on the reading and one on the button take it."""
    _at(page, "entry-6")
    page.click("#alternatives input[value='1']")
    page.click("#alternatives [type=submit]")
    _told(page, "ICP 60 mmHg")
    assert _entry(desk, 6).state is EntryState.CORRECTED


def test_a_value_is_typed(
    hands: Hands, page: Page, desk: OpenDesk, request: pytest.FixtureRequest
) -> None:
    """A value alone corrects an entry, and the page says before what it would become."""
    number = _pick(request, 8, 9)
    _at(page, f"entry-{number}")
    hands.open("e", "Correct it")
    hands.type("104")
    expect(page.locator(".becomes")).to_contain_text("104 /min")
    hands.do()
    _told(page, "Heart rate 104 /min")
    assert _entry(desk, number).state is EntryState.CORRECTED


def test_what_is_no_entry_is_refused_and_stays_as_typed(page: Page, desk: OpenDesk) -> None:
    """A value outside its range is not taken; a sentence says so until the form is left; nothing is lost."""
    _at(page, "entry-10")
    entries = len(desk.leg().entries)
    page.keyboard.press("e")
    page.keyboard.type("1040")
    page.keyboard.press("Enter")
    expect(page.locator("#trouble")).to_contain_text("1040")
    assert page.input_value("#act-form [name=text]") == "1040"
    page.keyboard.press("Escape")
    assert page.is_hidden("#act-place")
    expect(page.locator("#trouble")).to_be_empty()
    assert len(desk.leg().entries) == entries


def test_what_is_typed_is_there_again_after_a_look_elsewhere(page: Page) -> None:
    """A look at another entry, as to compare, costs nothing that was typed and not sent."""
    _at(page, "entry-10")
    page.keyboard.press("c")
    page.keyboard.type("Half a thought")
    page.click("#entry-2")
    page.keyboard.press("c")
    assert page.input_value("#act-form [name=text]") == ""
    page.keyboard.press("Escape")
    _at(page, "entry-10")
    page.keyboard.press("c")
    assert page.input_value("#act-form [name=text]") == "Half a thought"
    page.keyboard.press("Escape")
    page.keyboard.press("c")
    assert page.input_value("#act-form [name=text]") == ""
    page.keyboard.press("Escape")


def test_the_time_is_changed(
    hands: Hands, page: Page, desk: OpenDesk, request: pytest.FixtureRequest
) -> None:
    """An entry moves to the time that is typed, and stays what it was."""
    number = _pick(request, 11, 12)
    _at(page, f"entry-{number}")
    hands.open("t", "Change the time")
    hands.type("14:03", "time")
    hands.do()
    _told(page, "14:03")
    moved = _last(desk)
    assert (moved.replaces, f"{moved.happened_at:%H:%M}") == (number, "14:03")
    assert moved.entry == _entry(desk, number).entry


def test_an_entry_is_found_right(
    hands: Hands, page: Page, desk: OpenDesk, request: pytest.FixtureRequest
) -> None:
    """Two keys, or two clicks, say that an entry is right as it stands."""
    number = _pick(request, 5, 7)
    _at(page, f"entry-{number}")
    hands.open("y", "Right as it is")
    hands.do()
    _told(page, f"{number}")
    assert _entry(desk, number).state is EntryState.REVIEWED


def test_an_entry_is_withdrawn(
    hands: Hands, page: Page, desk: OpenDesk, request: pytest.FixtureRequest
) -> None:
    """A withdrawn entry no longer counts, and stays in the list."""
    number = _pick(request, 13, 14)
    _at(page, f"entry-{number}")
    hands.open("w", "Withdraw")
    hands.do()
    _told(page, "withdrawn")
    assert _entry(desk, number).state is EntryState.WITHDRAWN
    assert "withdrawn" in (page.text_content(f"#entry-{number}") or "")


def test_what_was_withdrawn_by_mistake_is_added_as_such(page: Page) -> None:
    """What is put back after a withdrawal is not counted as missed, unless the reviewer says so."""
    _at(page, "entry-19")
    page.keyboard.press("w")
    page.keyboard.press("Enter")
    _told(page, "withdrawn")
    _at(page, "entry-19")
    page.keyboard.press("a")
    expect(page.locator("#act-form [name=why]")).to_have_value("withdrawn by mistake")
    page.keyboard.press("Escape")
    page.click("[id^=gap-] >> nth=0")
    page.focus("#list")
    page.keyboard.press("a")
    expect(page.locator("#act-form [name=why]")).to_have_value("was missed")


def test_a_withdrawn_correction_lets_the_first_record_stand_again(
    page: Page, desk: OpenDesk
) -> None:
    """Whoever takes back a correction sees the entry in the list that it had replaced."""
    _at(page, "entry-3")
    page.keyboard.press("e")
    page.keyboard.type("80")
    page.keyboard.press("Enter")
    _told(page, "80 mmHg")
    assert page.locator("#entry-3").count() == 0
    page.keyboard.press("w")
    page.keyboard.press("Enter")
    _told(page, "withdrawn")
    expect(page.locator("#entry-3 .state")).to_have_text("confirmed")
    assert _entry(desk, 3).state is EntryState.CONFIRMED


def test_a_comment_with_script_in_it_is_text(
    hands: Hands, page: Page, desk: OpenDesk, request: pytest.FixtureRequest
) -> None:
    """Whatever is typed into a comment is shown as it was typed, and never run."""
    number = _pick(request, 15, 16)
    text = "<script>document.title = 'run'</script><img src=x onerror=alert(1)>"
    _at(page, f"entry-{number}")
    hands.open("c", "Comment")
    hands.type(text)
    hands.do(in_lines=True)
    page.wait_for_selector("#panel-desk .comment")
    assert text in page.inner_text("#panel-desk")
    assert page.title() != "run"
    assert [one.text for one in _entry(desk, number).comments] == [text]


def test_a_free_note_is_written_down(
    hands: Hands, page: Page, desk: OpenDesk, request: pytest.FixtureRequest
) -> None:
    """The words of a note, of which only the sound was kept, stand in the leg afterwards."""
    number = _pick(request, 20, 21)
    _at(page, f"entry-{number}")
    hands.open("n", "Write the note down")
    hands.type("The left arm moved by itself.")
    hands.do(in_lines=True)
    expect(page.locator("#panel-desk")).to_contain_text("The left arm")
    assert page.text_content(f"#entry-{number} .state") == "written down"
    assert _entry(desk, number).written_down == "The left arm moved by itself."


def test_an_entry_is_added_from_speech_that_became_nothing(page: Page, desk: OpenDesk) -> None:
    """One of the readings of such speech becomes an entry at the time at which it was said."""
    gap = _first_gap(page)
    _at(page, gap)
    page.wait_for_selector("#alternatives input[value='0']")
    page.keyboard.press("1")
    page.keyboard.press("Enter")
    _told(page, "ICP")
    added = _last(desk)
    assert added.desk is not None
    assert (added.desk.act, added.replaces) == ("added", None)
    assert f"became entry {added.number}" in (page.text_content(f"#{gap}") or "")


def test_other_talk_offers_no_reading(page: Page) -> None:
    """What is likelier to be other talk than any phrase is not a digit away from an entry."""
    page.locator("[id^=gap-]", has_text="taken for other talk").click()
    expect(page.locator("#no-alternatives")).to_have_text("Other talk was likeliest.")
    assert page.is_hidden("#alternatives")


def test_an_entry_is_added_from_any_sound(
    hands: Hands, page: Page, desk: OpenDesk, request: pytest.FixtureRequest
) -> None:
    """Something else that was said in the sound of an entry is added beside it."""
    number = _pick(request, 22, 23)
    _at(page, f"entry-{number}")
    hands.open("a", "Add an entry from this sound")
    hands.type("respirations sixteen")
    hands.do()
    _told(page, "Respirations 16 /min")
    added = _last(desk)
    assert added.clip == _entry(desk, number).clip
    assert _entry(desk, number).counts


def test_the_leg_is_commented_and_signed_off(page: Page, desk: OpenDesk) -> None:
    """A signature stands on the page until something is changed after it."""
    page.click("#leg-title")
    page.fill("#leg-comment-text", "A calm leg.")
    page.click("#leg-comment [type=submit]")
    page.wait_for_selector("#leg-told q:has-text('A calm leg.')")
    page.focus("#list")
    page.keyboard.press("g")
    assert "You have listened to" in page.inner_text("#sign-off-counter")
    page.click("#sign-off [type=submit]")
    page.wait_for_selector("#signed:has-text('Signed off')")
    assert desk.leg().comments[0].text == "A calm leg."

    _at(page, "entry-18")
    page.keyboard.press("y")
    page.keyboard.press("Enter")
    page.wait_for_selector("#signed:has-text('needs a new signature')")


def test_the_summary_is_compared(page: Page) -> None:
    """What the desk has changed in the summary is shown, before and after."""
    _at(page, "entry-2")
    page.keyboard.press("e")
    page.keyboard.type("11")
    page.keyboard.press("Enter")
    _told(page, "11 cm")
    page.keyboard.press("v")
    page.wait_for_selector("#summary-lines .side-after")
    assert "11 cm" in " ".join(page.locator("#summary-lines ins").all_inner_texts())
    page.keyboard.press("Escape")
    assert page.is_hidden("#summary")
