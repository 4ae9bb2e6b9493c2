"""What may be written, wherever a phrase is."""

from __future__ import annotations

from tests.hearing.conftest import acceptor_of
from voice.hearing.second.phrases import Node, Phrases, Step
from voice.hearing.second.writings import spoken


def codes(text: str) -> tuple[int, ...]:
    """Each letter as a token."""
    return tuple(map(ord, text))


def written(phrases: Phrases, text: str, state: int = 0) -> list[tuple[str, ...]]:
    """What ``text`` may have been said as."""
    node: Node | None = phrases.at(state)
    for token in codes(text):
        node = node.after.get(token) if node else None
    return [step.words for step in node.ended] if node else []


def test_a_word_may_be_written_in_several_ways() -> None:
    """As itself, with a capital at the beginning, as spelled in America, and shortened."""
    phrases = Phrases(acceptor_of("litres left", "okay drained"), codes)
    for text in (" okay", " Okay", " OK"):
        assert written(phrases, text) == [("okay",)]
    for text in (" litres", " Litres", " liters"):
        assert written(phrases, text) == [("litres",)]
    assert written(phrases, "litres") == written(phrases, " litre") == []
    assert written(phrases, " Left", state=1) == []


def test_letters_may_be_written_together() -> None:
    """An abbreviation is all its letters, or the first of them where it is no phrase by itself."""
    phrases = Phrases(acceptor_of("c s f clear"), codes)
    assert written(phrases, " CSF") == written(phrases, " csf") == [("c", "s", "f")]
    assert written(phrases, " C") == [("c",)]


def test_figures_stand_for_the_words_that_are_legal_there() -> None:
    """The same figures are the number in words, or one figure after the other, as the grammar has it."""
    phrases = Phrases(acceptor_of("one forty", "one four oh", "four fits"), codes)
    forty = phrases.said(0, "140")
    assert forty is not None
    assert forty.words == ("one", "four", "oh")
    assert phrases.said(0, "14") == Step(("one", "four"), forty.target - 1, 0.0)
    assert phrases.said(forty.target, "140") is phrases.said(0, "15") is None


def test_zeros_before_a_number_are_spoken() -> None:
    """Written "05" is "oh five", and never five alone."""
    assert spoken("05") == (("oh", "five"), ("zero", "five"), ("nought", "five"))
    assert spoken("14")[0] == ("fourteen",)
