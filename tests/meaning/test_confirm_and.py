"""A "confirm" and the next entry in one breath: what it means, and when it confirms nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.dialogue.talking import SETTINGS, meaning_of
from tests.meaning.acceptors import accepts
from voice.entries.heard import Alternative, Hearing
from voice.entries.said import ConfirmAnd, Several, Statement
from voice.meaning.decide import decide
from voice.meaning.decision import Accept, AskBetween, Decision, Doubt, NotUnderstood
from voice.meaning.grammar import load_grammar
from voice.meaning.leading_in import led_into
from voice.meaning.listening import Listening
from voice.meaning.readback import ask_between, read_back

if TYPE_CHECKING:
    from voice.meaning.acceptor import Acceptor

GRAMMAR = load_grammar()


def decided(*texts: str) -> Decision:
    """The decision where these were heard, each far less likely than the one before."""
    alternatives = tuple(Alternative(text, 40.0 - 6 * n) for n, text in enumerate(texts))
    return decide(Hearing(alternatives), GRAMMAR, Listening.CONFIRMING, SETTINGS)


@pytest.mark.parametrize(
    "entry",
    [
        "drained six mils",
        "drain clamped five minutes ago",
        "heart rate eighty eight pressure fourteen",
        "fentanyl fifty micrograms",
    ],
)
def test_it_means_the_one_and_the_other(entry: str) -> None:
    """Behind "confirm" whatever is an entry means what it means alone, and is read back so."""
    said, then = meaning_of(f"confirm {entry}"), meaning_of(entry)
    assert isinstance(then, Statement | Several)
    assert said == ConfirmAnd(then=then)
    assert read_back(said, SETTINGS) == f"confirm, {read_back(then, SETTINGS)}"


@pytest.mark.parametrize(
    "text",
    [
        "confirm correction pressure eighteen",
        "confirm confirm",
        "confirm read last",
        "drained six mils confirm",
        "negative drained six mils",
        "confirm pressure fourteen pressure fifteen",
    ],
)
def test_nothing_else_goes_with_confirm(text: str) -> None:
    """Only entries may stand behind "confirm", and nothing before it or in its place."""
    assert GRAMMAR.parse(text, SETTINGS) == ()


def test_before_a_leg_there_is_nothing_to_confirm() -> None:
    """Where "confirm" is not legal it is not before an entry either."""
    assert not GRAMMAR.is_phrase("confirm drained six mils", Listening.ASLEEP)


def test_behind_an_attention_word_it_needs_the_word() -> None:
    """Nobody else's "confirm" settles an entry by going on."""
    guarded = GRAMMAR.guarded("secretary")
    assert guarded.is_phrase("secretary confirm drained six mils", Listening.CONFIRMING)
    assert not guarded.is_phrase("confirm drained six mils", Listening.CONFIRMING)


@pytest.mark.parametrize(
    "rival", ["correction drained six mils", "drained six mils", "drained sixty mils", "confirm"]
)
def test_what_may_hold_no_confirm_confirms_nothing(rival: str) -> None:
    """Where anything without both is in the list at all, however unlikely, it has to be said again."""
    assert isinstance(decided("confirm drained six mils", "[unk]"), Accept)
    assert decided("confirm drained six mils", rival) == NotUnderstood(doubt=Doubt.CLOSE)


def test_what_may_hold_a_confirm_is_taken_without() -> None:
    """An entry or a correction that leads by enough needs no more: its read-back tells what was taken."""
    for text in ("drained six mils", "correction drained six mils"):
        decision = decided(text, "confirm drained six mils")
        assert isinstance(decision, Accept)
        assert decision.heard.text == text


def test_a_teen_behind_confirm_is_asked_about() -> None:
    """Where only the value is doubtful, that is asked, and not whether to confirm."""
    decision = decided("confirm pressure fifteen", "confirm pressure fifty")
    assert isinstance(decision, AskBetween)
    question = ask_between(decision.first.meaning, decision.second.meaning, SETTINGS)
    assert question == "pressure: one five, or five zero?"


def rivals(*texts: str) -> Acceptor | None:
    """What is held against what was heard, likeliest first."""
    alternatives = tuple(Alternative(text, 40.0 - n) for n, text in enumerate(texts))
    return led_into(Hearing(alternatives), GRAMMAR)


def test_other_speech_may_lead_into_whatever_confirm_may() -> None:
    """The rival of a "confirm" and an entry is any other speech and the same entry, behind the same call."""
    acceptor = rivals(
        "secretary confirm drained six mils",
        "secretary confirm drained",
        "drained six mils",
        "[unk]",
    )
    assert acceptor is not None
    for text in ("drained six mils", "drained"):
        assert accepts(acceptor, f"secretary [unk] {text}")
        assert not accepts(acceptor, f"secretary confirm {text}")
    assert not accepts(acceptor, "drained six mils")


def test_where_nothing_is_confirmed_there_is_no_rival() -> None:
    """A "confirm" alone, another phrase that is likelier, or other talk needs none."""
    for texts in (
        ("confirm", "[unk]"),
        ("secretary confirm",),
        ("drained six mils", "confirm drained six mils"),
        ("[unk]",),
        (),
    ):
        assert rivals(*texts) is None
