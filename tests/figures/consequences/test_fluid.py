from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.figures.consequences.told import changed, leg, marked, open_now, said, said_at
from voice.entries.kinds.drain import CsfClarity, CsfColour
from voice.entries.kinds.drugs import DrugGiven, LastDose
from voice.entries.kinds.leg import UnitCalled
from voice.entries.kinds.patient import PatientEvent, Sedation, SedationScore
from voice.entries.leg import EntryState, LegSettings

if TYPE_CHECKING:
    from voice.entries.kinds import Entry
    from voice.entries.kinds.leg import Contact

STRAW = CsfColour(colour="straw")
PINK = CsfColour(colour="pink")
RED = CsfColour(colour="red")
BLOODY = CsfColour(colour="bloody")
CLOUDY = CsfClarity(clarity="cloudy")
CLEAR = CsfClarity(clarity="clear")
CALLED = UnitCalled(whom="neurosurgeon")
AGITATED = PatientEvent(event="agitation")
SETTLED = PatientEvent(event="settled")


@pytest.mark.parametrize("look", [RED, BLOODY, CLOUDY])
def test_a_look_worth_a_call_is_told_once(look: CsfColour | CsfClarity) -> None:
    """Red, bloody or cloudy brings a prompt with its first entry, and is open until a call."""
    told = leg((1, STRAW), (2, look), (3, look), (9, CALLED))
    assert said_at(told, "fluid worth a call") == [2]
    assert "your protocol may ask for a call" in said(told, "fluid worth a call", 2)[0]
    assert open_now(told, "fluid worth a call", 8.9)
    assert open_now(told, "fluid worth a call", 9) == []
    assert marked(told, "fluid worth a call") == {}


@pytest.mark.parametrize("look", [STRAW, PINK, CLEAR, CsfClarity(clarity="hazy")])
def test_other_looks_are_quiet(look: CsfColour | CsfClarity) -> None:
    """No other look brings a prompt."""
    assert said(leg((1, look)), "fluid worth a call") == []


@pytest.mark.parametrize("whom", ["family", "dispatch"])
def test_a_call_to_somebody_who_cannot_help_is_none(whom: Contact) -> None:
    """Bloody fluid stays worth a call after word to the family or to dispatch, as a line that came apart does."""
    told = leg((0, BLOODY), (2, UnitCalled(whom=whom)))
    assert open_now(told, "fluid worth a call")
    assert marked(told, "fluid worth a call") == {1: "no call told"}


def test_a_change_for_the_worse_is_told_anew() -> None:
    """Bloody after red is another prompt, also after a call; so is red after straw."""
    assert said_at(leg((1, RED), (2, CALLED), (3, BLOODY)), "fluid worth a call") == [1, 3]
    assert said_at(leg((1, RED), (2, STRAW), (3, RED)), "fluid worth a call") == [1, 3]


def test_without_a_call_the_mark_stays() -> None:
    """Cleared up by itself, the look is no longer open, but marked: nobody was told to be called."""
    told = leg((1, CLOUDY), (2, CLEAR))
    assert open_now(told, "fluid worth a call") == []
    assert marked(told, "fluid worth a call") == {1: "no call told"}
    assert marked(leg((1, CALLED), (2, CLOUDY)), "fluid worth a call") == {2: "no call told"}


def test_colour_and_clarity_are_told_apart() -> None:
    """Clear fluid ends no redness."""
    assert open_now(leg((1, RED), (2, CLEAR)), "fluid worth a call") == [
        "Fluid red since 14:01, no call told"
    ]


@pytest.mark.parametrize(
    ("told", "linked"),
    [
        ([(0, AGITATED), (15, PINK)], True),
        ([(0, AGITATED), (15.1, PINK)], False),
        ([(0, AGITATED), (5, SETTLED), (6, PINK)], False),
        ([(0, AGITATED), (6, PINK), (7, SETTLED)], True),
        ([(1, PINK), (6, AGITATED)], True),
        ([(1, PINK), (6.1, AGITATED)], False),
        ([(0, Sedation(state="combative")), (6, PINK)], True),
        ([(0, SedationScore(score=1)), (6, PINK)], True),
        ([(0, SedationScore(score=0)), (6, PINK)], False),
        ([(0, AGITATED), (3, SedationScore(score=-2)), (6, PINK)], False),
        ([(0, AGITATED), (3, PatientEvent(event="coughing")), (6, PINK)], True),
        ([(0, AGITATED), (6, STRAW)], False),
        ([(6, PINK)], False),
    ],
)
def test_pink_keeps_its_context(told: list[tuple[float, Entry]], *, linked: bool) -> None:
    """Pink is marked with agitation told up to 15 min before, not settled since, or 5 min after."""
    assert bool(marked(leg(*told), "pink while agitated")) is linked


def test_the_context_says_since_when_and_is_not_spoken() -> None:
    """The mark names the time of the agitation; nothing is said, since nothing has to be done."""
    told = leg((3, AGITATED), (9, PINK))
    assert marked(told, "pink while agitated") == {2: "while agitated, told 14:03"}
    assert said_at(told, "pink while agitated") == []
    taken_back = changed(told, 1, state=EntryState.WITHDRAWN)
    assert marked(taken_back, "pink while agitated") == {}


# --- antibiotics -------------------------------------------------------------------------------

KNOWN = LegSettings(antibiotics=("cefazolin", "vancomycin"))
CEFAZOLIN = DrugGiven(drug="cefazolin", dose=2, unit="g")


def test_no_antibiotic_on_record_is_listed() -> None:
    """From the start to the first dose or last dose of one of them it is open, and never spoken."""
    other = DrugGiven(drug="mannitol", dose=50, unit="g")
    told = leg((1, other), (20, CEFAZOLIN), settings=KNOWN)
    assert open_now(told, "no antibiotic", 0) == ["No antibiotic told"]
    assert open_now(told, "no antibiotic", 19) == ["No antibiotic told"]
    assert open_now(told, "no antibiotic", 20) == []
    assert said_at(told, "no antibiotic") == []
    last = LastDose(drug="vancomycin", hour=11, minute=30)
    assert open_now(leg((2, last), settings=KNOWN), "no antibiotic") == []


def test_where_no_antibiotics_are_known_none_is_missing() -> None:
    """A leg whose settings name none lists nothing."""
    assert open_now(leg((1, CEFAZOLIN)), "no antibiotic", 0) == []
