"""What a nurse has chosen on this machine."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from voice.meaning.grammar import load_grammar
from voice.session import preferences
from voice.session.attention import Way
from voice.session.attention_word import USUAL, AttentionWordError, attention_word
from voice.session.models import SHIPPED_MODEL
from voice.session.preferences import Preferences, PreferencesError, Style

if TYPE_CHECKING:
    from pathlib import Path

GRAMMAR = load_grammar()


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A machine on which nothing has been chosen."""
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    return tmp_path


@pytest.mark.usefixtures("home")
def test_what_was_chosen_is_there_the_next_time() -> None:
    """A choice is kept, and what was not chosen stays as it was."""
    assert preferences.load() == Preferences()
    chosen = Preferences().changed(attention="word", rate_wpm=140, style=None)
    preferences.save(chosen)
    assert preferences.load() == chosen
    assert (chosen.attention, chosen.manner.rate_wpm) == (Way.WORD, 140)
    assert (chosen.style, chosen.word, chosen.manner.pitch) == (Style.SHORT, USUAL, 50)


@pytest.mark.parametrize("held", ["{", '{"attention": "sometimes"}', '{"loud": true}'])
def test_what_cannot_be_read_is_not_passed_over(home: Path, held: str) -> None:
    """A damaged file is told with what to do, and never taken for no choice."""
    (home / "preferences.json").write_text(held)
    with pytest.raises(PreferencesError, match="Delete the file"):
        preferences.load()


def test_what_cannot_be_kept_is_told(home: Path) -> None:
    """A choice that cannot be written is told with the file."""
    (home / "preferences.new").mkdir()
    with pytest.raises(PreferencesError, match=r"preferences\.json cannot be written"):
        preferences.save(Preferences())


def test_out_of_range_is_refused() -> None:
    """Nothing outside its range can be chosen."""
    with pytest.raises(PreferencesError, match="rate_wpm: Input should be less than"):
        Preferences().changed(rate_wpm=900)


def test_any_word_of_the_model_can_be_chosen() -> None:
    """The usual word, another and two in a row are taken, however they are written."""
    assert attention_word(USUAL, GRAMMAR, SHIPPED_MODEL) == USUAL
    assert attention_word(" Umbrella  Secretary!", GRAMMAR, SHIPPED_MODEL) == "umbrella secretary"


@pytest.mark.parametrize(
    ("chosen", "why"),
    [
        ("abracadabra", 'cannot hear "abracadabra".*trainer.md'),
        ("secretary abracadabra", 'cannot hear "abracadabra"'),
        ("pressure", '"pressure" is a word of the phrases'),
        ("no secretary", '"no" is a word of the phrases'),
        ("42", "is no word"),
    ],
)
def test_a_word_that_tells_nothing_is_refused(chosen: str, why: str) -> None:
    """A word that is not known, or that stands in phrases, is refused with what to do."""
    with pytest.raises(AttentionWordError, match=why):
        attention_word(chosen, GRAMMAR, SHIPPED_MODEL)
