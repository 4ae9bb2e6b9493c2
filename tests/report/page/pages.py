"""The pages of three invented legs, and the text that has to stand on their A4 sheets.

``python -m tests.report.page.pages`` writes the texts anew; it refuses to overwrite one that would
change unless ``--force`` is given. ``--pictures FOLDER`` writes the PDFs there, to be looked at.
"""

from __future__ import annotations

import sys
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from pypdf import PdfReader

from tests.report.legs import GOLDEN, read_leg, write_golden
from voice.report.page.content import Page, page
from voice.report.page.pdf import pdf

if TYPE_CHECKING:
    from voice.report.page.paper import Paper

SEAL = "0123456789abcdef" * 4
NAMES = ("quiet", "troubled", "long")


@lru_cache
def page_of(name: str) -> Page:
    """The page of an invented leg."""
    return page(*read_leg(GOLDEN / f"{name}.toml"), seal=SEAL)


@lru_cache
def pdf_of(name: str, paper: Paper) -> bytes:
    """The same as PDF."""
    _, now = read_leg(GOLDEN / f"{name}.toml")
    return pdf(page_of(name), paper, now)


def golden(name: str) -> Path:
    """The file with the text of its A4 sheet."""
    return GOLDEN / f"{name}.page.txt"


def text_of(document: bytes) -> str:
    """The text of a PDF, as another library reads it."""
    return "\n".join(one.extract_text() for one in PdfReader(BytesIO(document)).pages) + "\n"


def main() -> None:
    """Write the texts, or the PDFs to be looked at."""
    if "--pictures" in sys.argv:
        folder = Path(sys.argv[sys.argv.index("--pictures") + 1])
        for name in NAMES:
            (folder / f"{name}.pdf").write_bytes(pdf_of(name, "a4"))
        return
    for name in NAMES:
        write_golden(golden(name), text_of(pdf_of(name, "a4")))


if __name__ == "__main__":
    main()
