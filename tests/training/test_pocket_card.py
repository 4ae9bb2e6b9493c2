"""The card that a nurse reads before her first leg."""

from __future__ import annotations

from pathlib import Path

import pytest

from voice.meaning.grammar import load_grammar
from voice.meaning.phrase import GrammarError
from voice.training.pocket_card import CardError, Part, card, load_card

DRAWN = Path(__file__).parents[2] / "docs" / "pocket-card.md"
A_PAGE = 75
"""Lines of small print on a sheet of A4 or letter paper."""


def test_the_drawn_card_is_that_of_the_grammar() -> None:
    """The card in the guides is what is drawn from the grammar today, and fits a page."""
    drawn = DRAWN.read_text("utf-8")
    assert drawn == f"{card(load_card(), load_grammar())}\n"
    assert len(drawn.splitlines()) <= A_PAGE


def test_what_cannot_be_said_is_not_put_on_a_card() -> None:
    """A phrase that the grammar does not have is named, whether it is read back or not."""
    for part in (Part(title="a", say=("pressure lovely",)), Part(title="a", does={"hush": "?"})):
        with pytest.raises(CardError, match="is no phrase of the grammar"):
            card((part,), load_grammar())


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (b"[[part]]", "it lacks"),
        (b"part = 3", "cannot be 3"),
        (b"part = []\nmore = 1", 'nobody knows "more"'),
        (b"[[part", "not valid TOML"),
        (b"\xff", "not valid TOML"),
        (b"part = " + b"[" * 5_000, "brackets within each other"),
        (b"a." * 1_000 + b"b = 1", "more than 20 parts"),
        (b"#" * 300_000, "too large"),
    ],
)
def test_what_is_no_card_is_refused(tmp_path: Path, text: bytes, told: str) -> None:
    """A file that cannot be read as a card, or was made to explode, is told by its name."""
    file = tmp_path / "mine.toml"
    file.write_bytes(text)
    with pytest.raises(GrammarError, match=told) as refused:
        load_card(file)
    assert "mine.toml" in str(refused.value)
