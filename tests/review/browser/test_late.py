"""Answers that come late or out of order, and fingers that are faster than they."""

from __future__ import annotations

import random
from contextlib import suppress
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.review.browser.conftest import looking, served, wait_until_open
from tests.review.browser.invented import write_leg
from tests.review.browser.slow import held, late
from voice.entries.errors import LegbookError
from voice.entries.review import Reviewer
from voice.meaning.grammar import load_grammar
from voice.report.wording import entry_text
from voice.review.acts import ACT
from voice.review.desk import Desk

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

    from tests.review.browser.conftest import OpenDesk
    from voice.meaning.grammar import Grammar

SECOND = Reviewer(name="B. Second", role="physician")
_POLL_MS = 16_000


@pytest.fixture
def desk(own_leg: Path, grammar: Grammar) -> Iterator[OpenDesk]:
    """Each test has a leg of its own."""
    with served(own_leg, grammar) as opened:
        yield opened


@pytest.fixture
def page(browser: Browser, desk: OpenDesk) -> Iterator[Page]:
    """One reviewer's page."""
    with looking(browser, desk.address) as opened:
        yield opened


@pytest.fixture
def other(desk: OpenDesk) -> Iterator[Callable[..., None]]:
    """Somebody else, who acts at a desk of her own, on what stands now."""
    own = Desk(desk.folder, load_grammar(), lambda: desk.leg().started_at.replace(hour=23))

    def act(name: str, **told: object) -> None:
        own.do(ACT.validate_python({"act": name, "head": own.head, **told}), SECOND)

    yield act
    own.close()


def _stop_clock(page: Page) -> None:
    """From now on the page's time passes only where a test says so."""
    page.clock.install()
    page.reload()
    wait_until_open(page)


def _tell_who(page: Page, name: str) -> None:
    page.fill("#who [name=name]", name)
    page.fill("#who [name=role]", "nurse")
    _press(page, "Enter")
    page.wait_for_selector("#who", state="hidden")


def _press(page: Page, *keys: str) -> None:
    for key in keys:
        page.keyboard.press(key)


def _approve(page: Page, number: int) -> None:
    page.click(f"#entry-{number}")
    page.focus("#list")
    _press(page, "y", "Enter")
    expect(page.locator(f"#entry-{number} .state")).to_have_text("reviewed")


# --- what is shown -------------------------------------------------------------------------------


def test_what_was_told_before_is_not_put_over_what_was_told_after(
    page: Page, other: Callable[..., None]
) -> None:
    """Changes that were asked for before an act, and come after its answer, change nothing on the page."""
    _stop_clock(page)
    other("approve", number=9)
    with late(page, "**/data/changes*") as asked:
        page.clock.run_for(_POLL_MS)
        asked()
        other("withdraw", number=9)
        _approve(page, 8)
        expect(page.locator("#entry-9 .state")).to_have_text("withdrawn")
    page.wait_for_timeout(100)
    expect(page.locator("#entry-9 .state")).to_have_text("withdrawn")


def test_the_time_line_is_that_of_the_last_act(page: Page) -> None:
    """A course that was asked for before another act, and comes after its, is not drawn."""
    page.click("#tables-box summary")
    with late(page, "**/data/course") as asked:
        page.click("#entry-6")
        page.focus("#list")
        _press(page, "e", "2", "6", "Enter")
        expect(page.locator("#said")).to_contain_text("26 mmHg")
        asked()
        page.click("#entry-7")
        page.focus("#list")
        _press(page, "e", "2", "7", "Enter")
        expect(page.locator("#tables")).to_contain_text("27")
    page.wait_for_timeout(100)
    expect(page.locator("#tables")).to_contain_text("27")


def test_a_summary_of_before_is_not_read_as_that_of_now(page: Page) -> None:
    """Until the summary is there, none stands in its window; and the one that comes is the newest."""
    with late(page, "**/data/summary") as asked:
        _press(page, "v")
        asked()
        _press(page, "Escape")
        page.click("#entry-6")
        page.focus("#list")
        _press(page, "e", "2", "6", "Enter")
        expect(page.locator("#said")).to_contain_text("26 mmHg")
        _press(page, "v")
        expect(page.locator("#summary-lines")).to_contain_text("26")
    page.wait_for_timeout(100)
    expect(page.locator("#summary-lines")).to_contain_text("26")
    _press(page, "Escape")
    with held(page, "**/data/summary"):
        _press(page, "v")
        expect(page.locator("#summary-lines")).to_have_text(
            "It is being worked out; the page can be used meanwhile."
        )


def test_an_open_summary_follows_what_others_do(page: Page, other: Callable[..., None]) -> None:
    """Who reads the summary while somebody else corrects reads the correction."""
    _stop_clock(page)
    _press(page, "v")
    expect(page.locator("#summary-same")).to_be_visible()
    other("type", number=6, text="26")
    page.clock.run_for(_POLL_MS)
    expect(page.locator("#summary-lines ins", has_text="26 at 14:06").first).to_be_visible()


def test_the_first_record_tells_how_it_stands(page: Page) -> None:
    """What stands in the history of an entry changes with the entry."""
    page.click("#entry-6")
    page.focus("#list")
    _press(page, "e", "2", "6", "Enter")
    expect(page.locator("#said")).to_contain_text("26 mmHg")
    _press(page, "f")
    expect(page.locator("#history li").last).to_contain_text("reviewed")
    _press(page, "w", "Enter")
    expect(page.locator("#history li").last).to_contain_text("withdrawn")
    expect(page.locator("#history li").first).to_contain_text("confirmed")


def test_a_sound_that_is_missing_is_not_said_of_the_next(page: Page, desk: OpenDesk) -> None:
    """Trouble with a sound that was left is told no more."""
    clip = desk.leg().entries[8].clip
    assert clip is not None
    (desk.folder / "clips" / clip).unlink()
    with held(page, f"**/*{clip}*", "fetch"):
        with page.expect_request(lambda one: "/clips/" in one.url and one.resource_type == "fetch"):
            page.click("#entry-9")
        page.click("#entry-8")
    page.wait_for_timeout(200)
    expect(page.locator("#trouble")).to_be_empty()


def test_what_it_becomes_is_never_that_of_another_text(page: Page) -> None:
    """While one types on, the page does not say what it would have become before."""
    page.click("#entry-8")
    page.focus("#list")
    _press(page, "e", "1", "0")
    page.keyboard.type("4")
    expect(page.locator(".becomes")).to_contain_text("104 /min")
    with held(page, "**/check"):
        _press(page, "Backspace", "Backspace", "Backspace")
        page.keyboard.type("66")
        expect(page.locator(".becomes")).to_be_empty()
    expect(page.locator(".becomes")).to_contain_text("66 /min")


@pytest.mark.parametrize("seed", [1, 2])
def test_a_page_that_followed_shows_what_a_new_one_does(
    page: Page, other: Callable[..., None], desk: OpenDesk, seed: int
) -> None:
    """After corrections of corrections, and withdrawals of those, nothing of before is left in the list."""
    _stop_clock(page)
    rng = random.Random(seed)
    for turn in range(24):
        number = rng.choice(
            [one.number for one in desk.leg().entries if one.number in {4, 5} or one.number > 23]
        )
        name, told = rng.choice(
            [
                ("type", {"text": str(rng.randrange(10, 60))}),
                ("type", {"text": str(rng.randrange(10, 60))}),
                ("time", {"time": f"14:{rng.randrange(1, 27):02}"}),
                ("withdraw", {}),
                ("approve", {}),
            ]
        )
        with suppress(LegbookError):
            other(name, number=number, **told)
        if turn % 4 == 0:
            page.clock.run_for(_POLL_MS)
            page.wait_for_timeout(50)
    page.clock.run_for(_POLL_MS)
    last = desk.leg().entries[-1]
    expect(page.locator(f"#entry-{last.number}")).to_have_count(1)
    page.wait_for_timeout(200)
    followed = sorted(page.locator("#list [role=option]").all_inner_texts())
    page.reload()
    wait_until_open(page)
    page.clock.run_for(1000)
    assert followed == sorted(page.locator("#list [role=option]").all_inner_texts())


# --- what is pressed meanwhile -------------------------------------------------------------------


def test_an_act_that_is_done_late_closes_no_form_that_was_opened_since(
    page: Page, desk: OpenDesk
) -> None:
    """What is typed into the next form stays, and its letters are no commands."""
    page.click("#entry-8")
    page.focus("#list")
    with held(page, "**/acts") as asked:
        _press(page, "y", "Enter")
        asked()
        _press(page, "c")
        page.keyboard.type("Half a ")
    expect(page.locator("#entry-8 .state")).to_have_text("reviewed")
    page.keyboard.type("wing")
    assert page.input_value("#act-form [name=text]") == "Half a wing"
    assert desk.leg().entries[7].counts


def test_what_is_sent_twice_is_written_once(page: Page, desk: OpenDesk) -> None:
    """Two presses of Enter are one remark, on an entry and on the leg."""
    page.click("#entry-8")
    page.focus("#list")
    _press(page, "c")
    page.keyboard.type("So it was.")
    page.focus("#act-form [type=submit]")
    with held(page, "**/acts") as asked:
        _press(page, "Enter", "Enter")
        asked()
        page.wait_for_timeout(50)
    expect(page.locator("#said")).to_contain_text("Comment on entry 8 kept")
    page.click("#leg-title")
    page.fill("#leg-comment-text", "A calm leg.")
    with held(page, "**/acts") as asked:
        page.click("#leg-comment [type=submit]")
        page.click("#leg-comment [type=submit]")
        asked()
    expect(page.locator("#said")).to_contain_text("Comment on the leg kept")
    leg = desk.leg()
    assert [len(leg.entries[7].comments), len(leg.comments)] == [1, 1]


def test_a_reason_is_typed_in_peace(page: Page, desk: OpenDesk) -> None:
    """A sound that ends meanwhile takes neither the mark, nor the words, nor the focus from it."""
    page.click("#entry-4")
    page.wait_for_selector("#alternatives input[value='1']")
    with held(page, "**/acts") as listened:
        _press(page, "r")
        listened()
        _press(page, "2")
        page.focus("#alternatives [name=why]")
        _press(page, "Control+A")
        page.keyboard.type("said ")
    expect(page.locator("#counter")).to_contain_text("1 of")
    page.wait_for_timeout(100)
    page.keyboard.type("wrongly")
    _press(page, "Enter")
    expect(page.locator("#said")).to_contain_text("40 mmHg")
    mark = desk.leg().entries[-1].desk
    assert mark is not None
    assert mark.why == "said wrongly"


def test_letters_that_fall_out_of_a_field_are_no_commands(
    page: Page, other: Callable[..., None]
) -> None:
    """Where somebody else's act takes away the field, what is typed on withdraws and signs nothing."""
    _stop_clock(page)
    page.click("#entry-4")
    page.wait_for_selector("#alternatives input[value='1']")
    _press(page, "2")
    page.focus("#alternatives [name=why]")
    other("type", number=4, text="24")
    page.clock.run_for(_POLL_MS)
    expect(page.locator("#panel-title")).to_contain_text("ICP 24 mmHg")
    expect(page.locator("#alternatives")).to_be_visible()
    page.keyboard.type("wrong")
    expect(page.locator("#said")).to_contain_text("The field that you typed into is gone")
    assert page.is_hidden("#act-place")
    assert page.is_hidden("#sign-off")
    _press(page, "Escape", "c")
    assert page.is_visible("#act-place")


def test_a_refusal_of_what_was_left_lets_nothing_through(
    page: Page, desk: OpenDesk, other: Callable[..., None]
) -> None:
    """An act refused late does not stand for having seen what others did to the entry that is decided on now."""
    page.click("#entry-5")
    page.focus("#list")
    with held(page, "**/acts") as asked:
        _press(page, "y", "Enter")
        asked()
        page.click("#entry-6")
        page.focus("#list")
        _press(page, "e", "2", "6")
        other("withdraw", number=5)
        other("type", number=6, text="46")
    expect(page.locator("#trouble")).to_contain_text("Entry 5 was changed by B. Second")
    page.focus("#act-form [name=text]")
    _press(page, "Enter")
    expect(page.locator("#trouble")).to_contain_text("Entry 24 was changed by B. Second")
    assert "ICP 26 mmHg" not in [entry_text(one.entry) for one in desk.leg().entries]


def test_a_value_is_checked_against_the_entry_that_it_corrects(
    page: Page, other: Callable[..., None]
) -> None:
    """Where somebody else makes it another thing meanwhile, the page says so of what stands in the form."""
    _stop_clock(page)
    page.click("#entry-6")
    page.focus("#list")
    _press(page, "e", "4", "4")
    page.clock.run_for(300)
    expect(page.locator(".becomes")).to_contain_text("ICP 44 mmHg")
    other("type", number=6, text="heart rate 66")
    page.clock.run_for(_POLL_MS)
    page.clock.run_for(300)
    expect(page.locator(".becomes")).to_contain_text("Heart rate 44 /min")


# --- a leg that goes on, another leg, another person ---------------------------------------------


def test_a_page_left_open_writes_into_no_other_leg(
    browser: Browser, tmp_path: Path, grammar: Grammar
) -> None:
    """Where a desk at another leg takes the port, and the browser was let in there, the old page is refused."""
    first, second = tmp_path / "2026-05-01-1400", tmp_path / "2026-05-02-0900"
    write_leg(first)
    write_leg(second)
    with served(first, grammar) as desk:
        port = int(desk.address.split(":")[2].split("/")[0])
        context = browser.new_context()
        page = context.new_page()
        page.goto(desk.address)
        wait_until_open(page)
        _tell_who(page, "A. Reviewer")
        page.click("#entry-8")
        page.focus("#list")
        _press(page, "w")
    with served(second, grammar, port=port) as desk:
        other = context.new_page()
        other.goto(desk.address)
        wait_until_open(other)
        _tell_who(other, "A. Reviewer")
        before = desk.leg()
        _press(page, "Enter")
        expect(page.locator("#trouble")).to_contain_text("the desk is at leg 2026-05-02-0900 now")
        expect(page.locator("h1")).to_contain_text("2026-05-01-1400")
        assert desk.leg() == before
    context.close()


def test_two_windows_of_one_browser_are_two_people(browser: Browser, desk: OpenDesk) -> None:
    """Each act bears the name at the head of the page that it came from, also after a page was loaded again."""
    with looking(browser, desk.address) as first:
        second = first.context.new_page()
        second.goto(desk.address)
        wait_until_open(second)
        _tell_who(second, "B. Second")
        _approve(first, 5)
        _approve(second, 8)
        first.reload()
        wait_until_open(first)
        assert first.text_content("#reviewer") == "A. Reviewer (nurse)"
        second.close()
    marks = [desk.leg().entries[at].desk for at in (4, 7)]
    assert [mark and mark.by.name for mark in marks] == ["A. Reviewer", "B. Second"]
