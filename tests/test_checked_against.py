"""The table of checks names tests that exist, and every figure has its row."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "checked-against.md"
NAMED = re.compile(r"`([\w/.]*)::(test_\w+)`")
ROWS = [line for line in PAGE.read_text("utf-8").splitlines() if "::test_" in line]
NOT_FIGURES = {
    "__init__.py": "the package itself",
    "departure.py": "picks an entry",
    "disconnection.py": "picks entries; docs/consequences.md",
    "drawing.py": "draws the tables of rules",
    "episodes.py": "picks entries",
    "facts.py": "picks entries",
    "lumps.py": "shares the output's increments; docs/figures.md",
    "once.py": "remembers what was worked out",
    "order.py": "picks entries",
}
"""Modules of figures without arithmetic of their own that could be compared with anything."""


def named(row: str) -> list[tuple[str, str]]:
    """The tests of a row, each with its file; one without a file is in that of the one before."""
    found: list[tuple[str, str]] = []
    for file, test in NAMED.findall(row):
        assert file or found, f"the first test of a row needs its file: {row}"
        found.append((file or found[-1][0], test))
    return found


@cache
def held_by(file: str) -> set[str]:
    """The names of the tests that a file holds."""
    tree = ast.parse((ROOT / file).read_text("utf-8"))
    return {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}


def test_there_are_rows() -> None:
    """The page's rows are found, so that the other tests hold something."""
    assert len(ROWS) > 30


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.split("|")[1].strip())
def test_every_test_that_is_named_exists(row: str) -> None:
    """Each row names at least one test, and each of them stands in its file."""
    tests = named(row)
    assert tests
    assert [test for test in tests if test[1] not in held_by(test[0])] == []


def test_every_figure_has_a_row() -> None:
    """Each module of figures is imported by a file whose tests are named, or is none of arithmetic."""
    files = {file for row in ROWS for file, _ in named(row)}
    sources = "\n".join((ROOT / file).read_text("utf-8") for file in files)
    modules = sorted((ROOT / "voice" / "figures").glob("*.py"))
    lacking = {module.name for module in modules if f"voice.figures.{module.stem} " not in sources}
    assert lacking <= NOT_FIGURES.keys(), "give it a row in docs/checked-against.md"
