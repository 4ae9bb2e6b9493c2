"""The table of what the job needs: nothing in it is missing, and it says what the grammar says."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import pytest

from voice.entries.kinds import Entry
from voice.entries.kinds.leg import SpokenNote
from voice.meaning.grammar import load_grammar
from voice.training.needs import Need, NeedError, meet, needs, page, summary_line

ROOT = Path(__file__).parents[2]
MADE_BY_THE_TALK = {"spoken_note", "check_answer"}
"""Kinds that no phrase of their own makes: a note is sound alone, an answer is a "yes" or "no"."""


@pytest.mark.parametrize("need", needs(), ids=lambda need: need.need)
def test_every_need_is_met(need: Need) -> None:
    """Each need has an example, a read-back and, where it is an entry, a line in the summary."""
    met = meet(need, load_grammar())
    assert met.phrase
    assert met.read_back


def test_every_kind_of_entry_is_needed() -> None:
    """No kind of entry stands beside the list of needs."""
    kinds = {kind.model_fields["kind"].default for kind in get_args(get_args(Entry)[0])}
    assert kinds - MADE_BY_THE_TALK <= {need.kind for need in needs()}


def test_the_page_is_in_step() -> None:
    """docs/needs.md is what the grammar makes of the needs today."""
    assert (ROOT / "docs" / "needs.md").read_text("utf-8") == page()


def test_a_need_that_nobody_can_say_is_told() -> None:
    """A need without an example is refused by its own words."""
    with pytest.raises(NeedError, match="No example of the grammar says “Hair colour”"):
        meet(Need("Looks", "Hair colour", "hair", {}), load_grammar())


def test_an_entry_without_a_line_of_its_own_has_none() -> None:
    """The list of all entries, which holds every entry, does not count as a line."""
    assert summary_line(SpokenNote()) == "14:10 the sound was lost."
