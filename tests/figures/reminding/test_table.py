"""The table is whole, and the page is drawn from it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from voice.entries.leg import LegSettings
from voice.figures.reminding.draw import redrawn
from voice.figures.reminding.table import TABLE
from voice.meaning.grammar import load_grammar

if TYPE_CHECKING:
    from voice.figures.reminding.rule import Rule

PAGE = Path(__file__).parents[3] / "docs" / "reminders.md"
LONGEST = 24
"""Words: about eight seconds of speech."""

each_rule = pytest.mark.parametrize("rule", TABLE, ids=lambda rule: rule.name)


def test_names_are_told_apart() -> None:
    """No two rows have one name."""
    assert len({rule.name for rule in TABLE}) == len(TABLE)


@each_rule
def test_a_row_is_told_in_full(rule: Rule) -> None:
    """It says what it is of, when it is due, how it is cleared and where that is from, and is short."""
    assert all((rule.starts, rule.due, rule.ends, rule.says, rule.source))
    assert len(rule.says.split()) <= LONGEST
    assert list(rule.again_min) == sorted(set(rule.again_min))


@each_rule
def test_a_reminder_orders_nothing(rule: Rule) -> None:
    """It asks, or names what is missing or was told: an order would begin with what to do."""
    assert "?" in rule.says or rule.says.split()[0] in {"line", "{entries}"}


def test_what_a_reminder_asks_to_be_said_can_be_said() -> None:
    """Whatever stands after "say" at its end is a phrase."""
    asked = [rule.says.split(" say ")[1] for rule in TABLE if " say " in rule.says]
    assert len(asked) == 4
    for phrase in asked:
        assert len(load_grammar().parse(phrase, LegSettings())) == 1


def test_page_is_drawn_from_the_table() -> None:
    """Drawing docs/reminders.md anew changes nothing, and it names every row."""
    page = PAGE.read_text("utf-8")
    assert redrawn(page) == page
    assert all(f"| {rule.name} |" in page for rule in TABLE)
