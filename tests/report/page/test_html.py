from __future__ import annotations

from typing import TYPE_CHECKING

import html5lib
import pytest

from tests.report.page.pages import NAMES, page_of
from voice.report.page.content import Page, Section
from voice.report.page.html import html
from voice.report.telling import CAUTION

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

each_leg = pytest.mark.parametrize("name", NAMES)


def parsed(page: Page) -> Element:
    """The document as a strict HTML 5 parser reads it; any fault raises."""
    found: Element = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(html(page))
    return found


def text(element: Element) -> str:
    """All text within an element."""
    return "".join(element.itertext())


@each_leg
def test_it_is_whole_and_in_order(name: str) -> None:
    """Under one first heading stands each section with each of its sentences, in their order."""
    page = page_of(name)
    document = parsed(page)
    assert document.get("lang") == "en"
    assert [text(one) for one in document.iter("h1")] == [page.title]
    assert [text(one) for one in document.iter("h2")] == [one.title for one in page.sections]
    lists = [[text(item) for item in one.iter("li")] for one in document.iter("ul")]
    assert lists == [list(one.paragraphs) for one in page.sections]
    (foot,) = document.iter("footer")
    assert CAUTION in text(foot)


@each_leg
def test_the_picture_can_be_done_without(name: str) -> None:
    """The picture has words, and each table a caption and heads for its columns and rows."""
    (chart,) = (one.chart for one in page_of(name).sections if one.chart)
    document = parsed(page_of(name))
    (image,) = document.iter("img")
    assert image.get("alt") == chart.alt
    tables = list(document.iter("table"))
    assert [[text(c) for c in one.iter("caption")] for one in tables] == [
        [table.caption] for table in chart.tables
    ]
    for element, table in zip(tables, chart.tables, strict=True):
        heads = [text(one) for one in element.iter("th") if one.get("scope") == "col"]
        assert tuple(heads) == table.heads
        rows = [tuple(map(text, row)) for row in element.iter("tr")][1:]
        assert tuple(rows) == table.rows
        assert all(row[0].get("scope") == "row" for row in list(element.iter("tr"))[1:])


def test_what_was_heard_cannot_become_markup() -> None:
    """Signs of HTML in a sentence are shown as they are."""
    page = Page(
        "<b>&", "<i>", (Section("<u>", ("<script>alert(1)</script> & “x”",)),), ("<a>", "<")
    )
    document = parsed(page)
    assert [text(one) for one in document.iter("li")] == ["<script>alert(1)</script> & “x”"]
    assert not list(document.iter("script"))
