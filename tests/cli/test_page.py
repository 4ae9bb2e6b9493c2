"""The command that writes a leg on one page."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from typer.testing import CliRunner

from voice import cli
from voice.commands.page import PageError, write_page
from voice.entries.kinds.drain import Pressure
from voice.entries.leg import LegSettings
from voice.record.events import Kept
from voice.record.journal import Journal

if TYPE_CHECKING:
    from pathlib import Path

START = datetime(2031, 5, 1, 14, 0, tzinfo=UTC)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of a leg with one pressure."""
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    monkeypatch.setenv("COLUMNS", "300")
    folder = tmp_path / "legs" / "2031-05-01-1400"
    digest = "0" * 64
    with Journal.create(
        folder, LegSettings(), START, grammar_digest=digest, model_digest=digest
    ) as journal:
        entry = Pressure(value=14, unit="mmHg")
        at = START + timedelta(minutes=1)
        journal.append(
            Kept(at=at, number=1, entry=entry, heard="pressure", spoken_at=at, happened_at=at)
        )
    return folder


def test_it_writes_both_and_says_where(folder: Path) -> None:
    """A PDF and an HTML stand in the leg's folder, with the code of the journal, and are named."""
    result = CliRunner().invoke(cli.app, ["page", "--paper", "letter"])
    assert result.exit_code == 0, result.output
    assert f"Written: {folder / 'page.pdf'}" in result.output
    assert f"Written: {folder / 'page.html'}" in result.output
    assert (folder / "page.pdf").read_bytes().startswith(b"%PDF")
    code = CliRunner().invoke(cli.app, ["verify"]).output.splitlines()[-2].split()[-1]
    assert code in (folder / "page.html").read_text("utf-8")


def test_a_page_that_cannot_be_written_is_told(folder: Path) -> None:
    """Where the page cannot be written, the error says so; the PDF is not lost under the HTML's name."""
    with pytest.raises(PageError, match="Name the PDF"):
        write_page(folder, START, "a4", folder / "page.html")
    with pytest.raises(PageError, match="The leg itself is safe"):
        write_page(folder, START, "a4", folder / "nowhere" / "page.pdf")
