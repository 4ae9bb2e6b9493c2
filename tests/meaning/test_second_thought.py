"""An entry and its second thought in one breath: the first is never kept."""

from __future__ import annotations

import pytest

from tests.dialogue.talking import SETTINGS, meaning_of, started
from voice.dialogue.actions import Keep, Say
from voice.entries.heard import Alternative, Hearing
from voice.meaning.decide import decide
from voice.meaning.decision import AskBetween
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening
from voice.meaning.unfinished import Lacks

GRAMMAR = load_grammar()


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("drain clamped", "drain open"),
        ("pressure fourteen", "pressure sixteen"),
        ("drained six mils", "drained nine mils five minutes ago"),
        ("fentanyl fifty micrograms", "fentanyl one hundred micrograms"),
    ],
)
@pytest.mark.parametrize("between", ["no wait", "correction"])
def test_only_the_second_thought_counts(first: str, between: str, second: str) -> None:
    """It means what the second means alone: nothing of the first has been kept that it would correct."""
    assert meaning_of(f"{first} {between} {second}") == meaning_of(second)


@pytest.mark.parametrize(
    "text",
    [
        "pressure fourteen no wait sixteen",
        "pressure fourteen no wait",
        "pressure fourteen no wait no wait pressure sixteen",
        "pressure fourteen no pressure sixteen",
        "heart rate eighty eight pressure fourteen no wait pressure sixteen",
        "pressure fourteen no wait confirm",
    ],
)
def test_what_is_no_whole_second_thought_is_no_entry(text: str) -> None:
    """Neither the first nor a half of the second is kept where the second is not a whole entry."""
    assert GRAMMAR.parse(text, SETTINGS) == ()


@pytest.mark.parametrize("text", ["drain clamped no wait", "fentanyl fifty micrograms correction"])
def test_what_breaks_off_before_it_lacks_an_entry(text: str) -> None:
    """No number is asked for where a whole entry is missing."""
    assert GRAMMAR.lacks(text, Listening.LISTENING) is Lacks.REST


def test_a_doubtful_first_is_not_asked_about() -> None:
    """Only what counts is asked about, and asked as ever."""
    texts = (
        "pressure forty no wait pressure sixteen",
        "pressure fourteen no wait pressure sixteen",
        "pressure forty no wait pressure sixty",
    )
    hearing = Hearing(tuple(Alternative(text, 40.0 - n) for n, text in enumerate(texts)))
    decision = decide(hearing, GRAMMAR, Listening.LISTENING, SETTINGS)
    assert isinstance(decision, AskBetween)
    assert [decision.first.meaning, decision.second.meaning] == [
        meaning_of("pressure sixteen"),
        meaning_of("pressure sixty"),
    ]


def test_the_second_thought_is_read_back_and_waits() -> None:
    """One entry is kept, with all the words that were said, and its read-back tells which."""
    talking = started()
    kept, *_, said = talking.hears("drain clamped no wait drain open")
    assert isinstance(kept, Keep)
    assert kept.statement == meaning_of("drain open")
    assert said == Say("drain open")
    assert [one.number for one in talking.state.waiting] == [1]
