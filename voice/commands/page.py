"""The leg on one page, as PDF and as HTML."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.errors import LegbookError
from voice.meaning.handoff import load_needs
from voice.record.durable import replace_file
from voice.record.proof import code
from voice.record.shelf import head_of, leave, load_until, spare_folder
from voice.report.page.content import page
from voice.report.page.html import html
from voice.report.page.pdf import pdf
from voice.session.own_phrases import handoff_lists

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from voice.report.page.paper import Paper

PAGE = "page.pdf"


class PageError(LegbookError):
    """The page cannot be written; the journal has all that it would say."""


def write_page(
    folder: Path, now: datetime, paper: Paper, file: Path | None = None
) -> tuple[Path, Path]:
    """Write the page of the leg in ``folder`` as it stands, and say where: the PDF and the HTML.

    :param now: an aware time: when it is written, and up to when a leg that goes on counts.
    :param file: the PDF; else ``page.pdf`` in the leg's folder. The HTML stands beside it.
    :raises JournalError: where nothing can be read of the leg.
    :raises PageError: where a file cannot be written, or the PDF is to have the name of the HTML.
    """
    spare = spare_folder(folder)
    seal = code(head_of(folder, spare))
    leg, until = load_until(folder, now, spare)
    told = page(leg, until, seal, needs=load_needs(*handoff_lists()))
    for_paper = file or folder / PAGE
    for_screen = for_paper.with_suffix(".html")
    if for_screen == for_paper:
        raise PageError(
            f"{for_paper} is the name of the HTML, which stands beside the PDF. Name the PDF with --out."
        )
    contents = ((for_paper, pdf(told, paper, now)), (for_screen, html(told).encode()))
    try:
        if file is None:
            for_paper, for_screen = (leave(folder, path.name, one) for path, one in contents)
        else:
            for path, content in contents:
                replace_file(path, content)
    except OSError as error:
        raise PageError(
            f"The page cannot be written to {for_paper} and {for_screen.name} ({error.strerror}). "
            f"The leg itself is safe: show it with: legbook summary {folder.name}"
        ) from error
    return for_paper, for_screen
