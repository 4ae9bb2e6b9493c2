from __future__ import annotations

import re
import tomllib
from hashlib import sha256
from pathlib import Path

import pytest

import voice.review

PACKAGE = Path(voice.review.__file__).parent
STATIC = PACKAGE / "static"
GUIDE = Path(__file__).parents[2] / "docs" / "reviewer.md"
OWN = sorted(
    path
    for folder in (STATIC, PACKAGE / "templates")
    for path in folder.iterdir()
    if path.suffix in {".js", ".css", ".html"}
)


def test_the_chart_library_is_the_one_that_was_released() -> None:
    """Each file of the library is byte for byte that of the release that is noted beside it."""
    release = tomllib.loads((STATIC / "uplot" / "release.toml").read_text("utf-8"))
    found = {
        path.name: sha256(path.read_bytes()).hexdigest()
        for path in (STATIC / "uplot").iterdir()
        if path.name != "release.toml"
    }
    assert found == release["sha256"]
    assert release["version"] in (STATIC / "uplot" / "uPlot.iife.min.js").read_text("utf-8")[:99]


def test_the_guide_tells_every_key() -> None:
    """Each key of the page stands in the guide for the reviewer."""
    acts = re.findall(r'key: "(\w)"', (STATIC / "forms.js").read_text("utf-8"))
    others = re.findall(r'keys: \["(.)"\]', (STATIC / "keys.js").read_text("utf-8"))
    guide = GUIDE.read_text("utf-8")
    assert len(acts) >= 7
    assert [key for key in (*acts, *others) if f"<kbd>{key}</kbd>" not in guide] == []


@pytest.mark.parametrize("path", OWN, ids=lambda path: path.name)
def test_the_page_names_no_other_machine(path: Path) -> None:
    """No file of the page asks anything of the network, nor carries script or style inline."""
    text = path.read_text("utf-8")
    assert not re.search(r"https?:|[\"'(]//\w", text)
    if path.suffix == ".html":
        assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son\w+=", text)
    assert "innerHTML" not in text
