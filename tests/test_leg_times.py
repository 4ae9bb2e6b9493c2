"""The times of a transport against an open data standard's list of them."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest

from voice.entries.kinds.leg import LegMark
from voice.entries.leg import LegSettings
from voice.entries.said import Statement
from voice.meaning.grammar import load_grammar

PAGE = Path(__file__).parents[1] / "docs" / "leg-times.md"
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in PAGE.read_text("utf-8").splitlines()
    if line.startswith(("| eTimes", "| |"))
]
MARKS = set(get_args(LegMark.model_fields["mark"].annotation))
SAID = [(phrase, row[2]) for row in ROWS for phrase in re.findall(r'"([a-z ]+)"', row[3])]


def test_every_time_of_the_standard_has_a_mark() -> None:
    """The page has all seventeen times of the standard in order, each with a mark of ours."""
    assert [row[0] for row in ROWS if row[0]] == [f"eTimes.{n:02}" for n in range(1, 18)]
    assert {row[2] for row in ROWS} == MARKS
    assert all(re.search(r'"[a-z ]+"', row[3]) for row in ROWS)


@pytest.mark.parametrize(("phrase", "mark"), SAID)
def test_every_mark_is_said_as_the_page_says(phrase: str, mark: str) -> None:
    """What the page says makes the mark of its row, and nothing else."""
    assert load_grammar().parse(phrase, LegSettings()) == (
        Statement(entry=LegMark.model_validate({"mark": mark})),
    )
