"""What is told of a reading at the desk that cannot be taken."""

from __future__ import annotations

import pytest

from tests.review.flight import at
from voice.entries.leg import LegSettings
from voice.meaning.decision import Doubt, NotUnderstood
from voice.meaning.grammar import load_grammar
from voice.record.events import Heard, ScoredText
from voice.review.options import options


def heard(text: str) -> Heard:
    """A stretch of speech that was not understood, with one reading."""
    return Heard(
        at=at(1),
        start_at=at(1),
        end_at=at(1),
        alternatives=(ScoredText(text=text, score=1.0),),
        decision=NotUnderstood(doubt=Doubt.FAINT),
        dialogue_state="listening",
    )


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("ventriculostomy drained twelve mils", "No phrase of this machine says that"),
        ("blood pressure eighty over one twenty", "That says no entry"),
        ("[unk]", "That says no entry"),
        ("confirm", "That says no entry"),
        ("first", "That says no entry"),
        ("pressure fourteen", None),
    ],
)
def test_a_phrase_of_another_machine_is_told_as_such(text: str, told: str | None) -> None:
    """A leg flown with a taught phrase says at a desk without it why that reading is no entry there."""
    (option,) = options(heard(text), load_grammar(), LegSettings(), None)
    assert (option.why_not or "").startswith(told or "")
    assert (option.why_not is None) == (told is None)


@pytest.mark.parametrize("text", ["pressure fourteen", "secretary pressure fourteen"])
def test_the_attention_word_of_this_machine_is_no_part_of_what_was_said(text: str) -> None:
    """Behind it, or without it where the leg was flown so, a reading can be taken."""
    (option,) = options(heard(text), load_grammar().guarded("secretary"), LegSettings(), None)
    assert (option.written, option.why_not) == ("ICP 14 mmHg", None)
