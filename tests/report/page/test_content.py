from __future__ import annotations

from dataclasses import replace

import pytest

from tests.report.legs import GOLDEN, read_leg
from tests.report.page.pages import NAMES, page_of
from voice.entries.kinds.leg import LegMark
from voice.entries.leg import EntryState
from voice.meaning.handoff import load_needs
from voice.report.page.content import Page, Section, page
from voice.report.page.fitting import fitted
from voice.report.sections.consequences import open_now
from voice.report.telling import HALF_A_DAY, UNTOLD, Telling


def sections(told: Page) -> dict[str, tuple[str, ...]]:
    """The paragraphs by the title of their section."""
    return {one.title: one.paragraphs for one in told.sections}


def test_the_order_is_that_of_a_handoff() -> None:
    """Who and why, line, order, state, pressure, output, neuro, vital signs, drugs, trouble, doubt, times."""
    titles = [one.title for one in page_of("long").sections]
    expected = [
        "Who and why", "Line", "Order", "Open now", "Drain now", "ICP, mmHg", "CPP, mmHg",
        "Done, ICP after", "Output and look", "Neuro", "Vital signs", "Drugs", "Laboratory",
        "Trouble, answers", "Missing, in doubt", "Times", "Method",
    ]  # fmt: skip
    assert [title for title in titles if title in expected] == expected


def test_the_last_stands_with_what_it_was_among() -> None:
    """A vital sign is told by its last value, with its range and whatever is in doubt of it."""
    vitals = sections(page_of("troubled"))["Vital signs"]
    assert vitals[1] == (
        "Heart rate 112 /min at 00:05 (unconfirmed) (88 to 112 in 2, unconfirmed 1)."
    )


def test_a_night_needs_its_dates_once() -> None:
    """Over midnight the page dates the leg and what was the day before, and the rest only where two could be meant."""
    leg, now = read_leg(GOLDEN / "troubled.toml")
    assert page(leg, now).subtitle.startswith("Started 1 May 2026 22:50, not ended by 2 May 00:40")
    dated = [title for title, told in sections(page(leg, now)).items() if "2 May" in " ".join(told)]
    assert dated == ["Drugs"], "a last dose always bears its day"
    afternoon = leg.started_at + HALF_A_DAY
    called = leg.entries[0].model_copy(update={"entry": LegMark(mark="request received")})
    early = leg.model_copy(update={"started_at": afternoon, "entries": (called,)})
    (request,) = sections(page(early, afternoon + HALF_A_DAY / 2))["Times"]
    assert request == "1 May 22:45 Request received."
    assert "since 2 May 00:20" in sections(page(leg, afternoon))["Drain now"][0]


def test_a_programme_asks_for_what_it_wants() -> None:
    """What is missing goes by the list that a programme has put in place of the shipped one."""
    leg, now = read_leg(GOLDEN / "quiet.toml")
    needs = tuple(need for need in load_needs() if need.name == "pupils")
    found = sections(page(leg, now, needs=needs))
    assert found["Missing, in doubt"] == ("Not told: pupils.",)


def test_nothing_told_is_said_where_it_is_missed() -> None:
    """A leg without entries has no chart, and says of order, pressure and drugs that none were."""
    told = page(*read_leg(GOLDEN / "nothing_told.toml"))
    assert all(one.chart is None for one in told.sections)
    found = sections(told)
    for title in ("Order", "ICP, mmHg", "Output and look", "Drugs"):
        assert found[title] == (UNTOLD,)
    assert "Laboratory" not in found


@pytest.mark.parametrize("name", NAMES)
def test_what_is_open_or_unconfirmed_is_on_it(name: str) -> None:
    """Whatever is open stands on the page, and each entry that was never confirmed."""
    leg, now = read_leg(GOLDEN / f"{name}.toml")
    told = Telling(leg, leg.ended_at or now, dated=False)
    found = sections(page_of(name))
    assert list(found["Open now"]) == (open_now(told) or ["Nothing."])
    unsure = [e for e in leg.entries if e.state is EntryState.UNCONFIRMED]
    in_doubt = " ".join(found.get("Missing, in doubt", ()))
    assert all(told.row(e) in in_doubt for e in unsure)


def test_how_the_fluid_looked_goes_later_than_what_it_was_caught_in() -> None:
    """Where paper is short, each look of the fluid stays beside the sums, and the oldest emptying goes first."""
    found = next(one for one in page_of("long").sections if one.title == "Output and look")
    shorter = found.shorter()
    assert shorter.facts == found.facts
    assert [one.split(":")[0] for one in shorter.facts[:2]] == ["CSF colour", "CSF clarity"]
    assert found.history[0] not in shorter.history


A = Section("Times", ("a fact",), ("one", "two", "three"))
B = Section("Order", ("an order", "another"), ())
C = Section("Method", ("long, long words",), ())
PAGE = Page("t", "s", (A, B, C), ("caution",))


def count(told: Page) -> int:
    """How many sentences are left."""
    return sum(len(one.facts) + len(one.history) for one in told.sections)


@pytest.mark.parametrize("room", range(8))
def test_as_little_as_can_be_is_left_out(room: int) -> None:
    """As many sentences stay as there is room for, and the others are counted."""
    found = fitted(PAGE, lambda one: count(one) <= room)
    assert count(found) == min(room, 7)
    assert sum(one.left_out for one in found.sections) == 7 - count(found)


def test_the_oldest_goes_first_and_the_order_last() -> None:
    """What happened long ago is left out before what is worked out, and the order after all."""
    found = fitted(PAGE, lambda one: count(one) <= 5)
    assert found.sections[0].history == ("three",)
    assert found.sections[0].paragraphs[-1] == "2 more: see the text summary."
    found = fitted(PAGE, lambda one: count(one) <= 2)
    assert found.sections[1] == B
    assert found.sections[2] == replace(C, facts=(), left_out=1)


def test_the_latest_of_each_subject_outlasts_the_methods() -> None:
    """The last neuro check stays while there is a method to leave out, and most of vital signs too."""
    neuro = Section("Neuro", (), tuple(f"{n} check" for n in range(20)))
    vitals = Section("Vital signs", ("one", "two", "three"))
    methods = Section("Method", tuple(f"{n} method" for n in range(6)))
    told = Page("t", "s", (neuro, vitals, methods), ("caution",))
    found = fitted(told, lambda one: count(one) <= 5)
    assert [len(one.history) + len(one.facts) for one in found.sections] == [1, 3, 1]
    assert found.sections[0].history == ("19 check",)


def test_it_gives_up_with_nothing_left() -> None:
    """Where even an empty page does not fit, it is the empty page that comes back."""
    assert count(fitted(PAGE, lambda _: False)) == 0
