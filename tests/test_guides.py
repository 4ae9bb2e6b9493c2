from __future__ import annotations

import re
from pathlib import Path

import pytest

from voice.entries.leg import LegSettings
from voice.meaning.grammar import load_grammar

ROOT = Path(__file__).parents[1]
GUIDE = (ROOT / "docs" / "nurse.md").read_text(encoding="utf-8")
TABLES = [line for line in GUIDE.splitlines() if line.startswith("|")]
PHRASES = [phrase for line in TABLES for phrase in re.findall(r'"([a-z ]+)"', line)]


def test_guide_has_phrases() -> None:
    """The tables of the nurse's guide are found, so that the next test holds something."""
    assert len(PHRASES) > 50


@pytest.mark.parametrize("phrase", PHRASES)
def test_every_phrase_of_the_guide_is_heard(phrase: str) -> None:
    """What the nurse's guide says can be said is legal and means one thing."""
    assert len(load_grammar().parse(phrase, LegSettings())) == 1


LINK = re.compile(r"\]\(([^)#:]+)\)")
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md"))]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_links_lead_somewhere(page: Path) -> None:
    """Every link inside the project leads to a file that is there."""
    broken = [
        link for link in LINK.findall(page.read_text("utf-8")) if not (page.parent / link).exists()
    ]
    assert broken == []


@pytest.mark.parametrize(
    "page", [ROOT / "README.md", ROOT / "docs" / "nurse.md"], ids=lambda p: p.name
)
def test_the_caution_stands_in_front(page: Path) -> None:
    """The pages that a nurse reads say early that legbook never orders care."""
    assert "never orders care" in page.read_text("utf-8")[:1600]
