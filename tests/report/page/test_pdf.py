from __future__ import annotations

import re
from datetime import timedelta
from io import BytesIO
from typing import TYPE_CHECKING, Any, get_args

import pytest
from pypdf import PdfReader

from tests.report.legs import GOLDEN, read_leg
from tests.report.page.pages import NAMES, SEAL, golden, page_of, pdf_of, text_of
from voice.report.page.content import page
from voice.report.page.paper import SIZE_MM, Paper
from voice.report.page.pdf import pdf
from voice.report.telling import CAUTION

if TYPE_CHECKING:
    from voice.report.page.content import Page

PAPERS: tuple[Paper, ...] = get_args(Paper)
each_leg = pytest.mark.parametrize("name", NAMES)


def flat(text: str) -> str:
    """Text without the breaks of its lines."""
    return " ".join(text.split())


@each_leg
def test_the_sheet_says_what_was_approved(name: str) -> None:
    """The text of an invented leg's sheet is, to the letter, the one that was read and approved."""
    assert text_of(pdf_of(name, "a4")) == golden(name).read_text("utf-8")


@each_leg
@pytest.mark.parametrize("paper", PAPERS)
def test_it_is_one_sheet_of_that_paper(name: str, paper: Paper) -> None:
    """There is one page, of the size of the paper, with the caution and the seal at its foot."""
    reader = PdfReader(BytesIO(pdf_of(name, paper)))
    (sheet,) = reader.pages
    size = (float(sheet.mediabox.width), float(sheet.mediabox.height))
    assert size == pytest.approx([mm / 25.4 * 72 for mm in SIZE_MM[paper]], abs=0.1)
    text = flat(sheet.extract_text())
    assert CAUTION in text
    assert text.endswith(f"Seal of the journal: {SEAL}")


def crowded() -> Page:
    """The page of the long leg, all of whose entries were told four times."""
    leg, now = read_leg(GOLDEN / "long.toml")
    entries = tuple(
        e.model_copy(
            update={
                "number": e.number + 1000 * turn,
                "happened_at": e.happened_at + timedelta(seconds=turn),
            }
        )
        for turn in range(4)
        for e in leg.entries
    )
    return page(leg.model_copy(update={"entries": entries}), now)


def test_what_does_not_fit_is_counted() -> None:
    """Of a leg too long for a sheet nothing runs over, and each section tells how much it lacks."""
    whole = crowded()
    (sheet,) = PdfReader(BytesIO(pdf(whole, "letter", read_leg(GOLDEN / "long.toml")[1]))).pages
    text = flat(sheet.extract_text())
    assert CAUTION in text
    left_out = sum(int(count) for count in re.findall(r"(\d+) more: see the text summary", text))
    told = sum(len(one.facts) + len(one.history) for one in whole.sections)
    assert 0 < left_out < told
    for one in whole.sections:
        assert one.title in text
        if one.title == "Open now":
            assert all(flat(fact) in text for fact in one.facts)


@each_leg
def test_its_structure_can_be_walked_through(name: str) -> None:
    """It tells its language and title; each heading, text and picture has its place, in order."""
    reader = PdfReader(BytesIO(pdf_of(name, "a4")))
    root: Any = reader.trailer["/Root"]
    assert root["/Lang"] == "en"
    assert root["/MarkInfo"]["/Marked"]
    assert reader.metadata is not None
    assert reader.metadata.title == f"Leg {name}"
    document = root["/StructTreeRoot"]["/K"][0].get_object()
    parts = [part.get_object() for part in document["/K"]]
    roles = [part["/S"] for part in parts]
    sections = page_of(name).sections
    assert roles[:2] == ["/H1", "/P"]
    assert roles[-2:] == ["/P", "/P"]
    assert roles.count("/H2") == len(sections)
    (figure,) = (part for part in parts if part["/S"] == "/Figure")
    (chart,) = (one.chart for one in sections if one.chart)
    assert figure["/Alt"] == chart.alt
    assert reader.pages[0].get_contents() is not None
    data = reader.pages[0].get_contents().get_data()  # type: ignore[union-attr] # just asked
    outside = re.sub(rb"/\w+ <</MCID \d+>> BDC.*?EMC", b"", data, flags=re.DOTALL)
    assert b"Tj" not in outside, "some text has no place in the structure"
    assert b" Do" not in outside
