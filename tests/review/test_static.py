from __future__ import annotations

import re
import tomllib
from hashlib import sha256
from pathlib import Path

import pytest

import voice.review

PACKAGE = Path(voice.review.__file__).parent
STATIC = PACKAGE / "static"
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


@pytest.mark.parametrize("path", OWN, ids=lambda path: path.name)
def test_the_page_names_no_other_machine(path: Path) -> None:
    """No file of the page asks anything of the network, nor carries script or style inline."""
    text = path.read_text("utf-8")
    assert not re.search(r"https?:|[\"'(]//\w", text)
    if path.suffix == ".html":
        assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son\w+=", text)
    assert "innerHTML" not in text
