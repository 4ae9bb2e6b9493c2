"""Two listeners' opinions at the desk."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.review.conftest import reading
from tests.review.flight import Flight, at
from voice.entries.heard import Stand
from voice.entries.review import Reviewer
from voice.meaning.decision import NotForUs
from voice.meaning.grammar import load_grammar
from voice.record.events import ScoredText, SecondHeard
from voice.review.acts import ACT
from voice.review.desk import Desk
from voice.review.second import second_told

if TYPE_CHECKING:
    from pathlib import Path


def second(stand: Stand, *texts: str) -> SecondHeard:
    """What the second listener made of it."""
    scored = (ScoredText(text=text, score=-3.0 * n) for n, text in enumerate(texts, 1))
    return SecondHeard(stand=stand, alternatives=tuple(scored))


DIFFERED = second(Stand.DIFFERED, "[unk]", "pressure twenty two", "i c p twenty one")


def desk(flight: Flight) -> Desk:
    """A flight that is over, at the desk."""
    return Desk(flight.end(), load_grammar(), lambda: at(99))


def test_where_two_listeners_differed_a_human_looks_first(tmp_path: Path) -> None:
    """What the second heard otherwise comes before what both heard alike, with both phrases."""
    flight = Flight(tmp_path)
    flight.say("pressure twenty one", second=second(Stand.AGREED, "pressure twenty one"))
    flight.say("pressure twenty one", second=second(Stand.NOTHING, "[unk]"))
    flight.say("pressure twenty one", second=DIFFERED)
    flight.say("pressure twenty one", second=second(Stand.LATE))
    rows = desk(flight).view().rows
    assert [row.why_look for row in rows] == [
        (),
        ("the second listener made out no phrase",),
        ("two listeners heard “pressure twenty one” and “pressure twenty two”",),
        (),
    ]
    assert max(rows, key=lambda row: row.need).number == 3


def test_what_the_second_alone_heard_can_be_taken(tmp_path: Path) -> None:
    """Its readings stand after the first's, another wording of the same does not, and one key takes one."""
    flight = Flight(tmp_path)
    flight.say("pressure twenty one", "pressure twenty", second=DIFFERED)
    looked_at = desk(flight)
    listed = looked_at.options(1)
    assert [(one.written, one.behind) for one in listed] == [
        ("ICP 21 mmHg", 0.0),
        ("ICP 20 mmHg", 2.0),
        (None, 30.0),
        ("ICP 22 mmHg", None),
    ]
    told = {"act": "alternative", "head": looked_at.view().head, **reading(looked_at, 1, 3)}
    looked_at.do(ACT.validate_python(told), Reviewer(name="A. Reader", role="reviewer"))
    assert [row.written for row in looked_at.view().rows] == ["ICP 21 mmHg", "ICP 22 mmHg"]


@pytest.mark.parametrize(
    ("heard", "told"),
    [
        (None, None),
        (
            DIFFERED,
            "The second listener heard “pressure twenty two”. That differs from the first.",
        ),
        (
            second(Stand.AGREED, "i c p nine"),
            "The second listener heard “i c p nine”. It means the same.",
        ),
        (second(Stand.NOTHING, "[unk]"), "The second listener made out no phrase."),
        (second(Stand.LATE), "The second listener was late: the first decided alone."),
        (second(Stand.FAILED), "The second listener failed: the first decided alone."),
    ],
)
def test_the_second_opinion_is_told_in_words(
    tmp_path: Path, heard: SecondHeard | None, told: str | None
) -> None:
    """For each way in which it may stand there is a sentence; without a second listener none."""
    flight = Flight(tmp_path)
    flight.hear(NotForUs(), "[unk]", second=heard)
    looked_at = desk(flight)
    (gap,) = looked_at.view().gaps
    assert second_told(looked_at.speech(gap.id)) == told


def test_what_stands_behind_a_confirm_can_be_taken(tmp_path: Path) -> None:
    """At the desk a reading with "confirm" before the entry tells that entry, of a breath the one that is meant."""
    flight = Flight(tmp_path)
    flight.say(
        "pressure twenty one",
        "confirm pressure twenty two",
        "confirm heart rate ninety pressure twenty three",
    )
    written = [one.written for one in desk(flight).options(1)]
    assert written[:3] == ["ICP 21 mmHg", "ICP 22 mmHg", "ICP 23 mmHg"]
