"""The page as PDF for A4 or Letter: one sheet, tagged, its text to be searched and read aloud."""

from __future__ import annotations

from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from fpdf import FPDF, ViewerPreferences
from fpdf.enums import XPos, YPos
from matplotlib import get_data_path

from voice.report.page.chart import HEIGHT_MM, WIDTH_MM
from voice.report.page.fitting import fitted
from voice.report.page.paper import SIZE_MM

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import datetime

    from voice.report.page.content import Page, Section
    from voice.report.page.paper import Paper

_MARGIN_MM = 10.0
_HEADING_MM = 27.0
"""Width of the column of headings."""
_BETWEEN_MM = 0.9
"""Between two sections."""
_SIZES_PT = (8.5, 8.0, 7.5, 7.0)
"""Tried one after the other before anything is left out."""
_LINE_MM_PER_PT = 0.3528 * 1.22


def pdf(page: Page, paper: Paper, now: datetime) -> bytes:
    """The page as PDF, on one sheet.

    What does not fit in the smallest letters is left out, and the page says how much that is.
    ``now`` (aware) is when it is written.
    """
    sheet = _Sheet(paper)
    sheet.set_title(page.title)
    sheet.set_creator("legbook")
    sheet.set_creation_date(now)
    room_mm = sheet.h - 2 * _MARGIN_MM
    sizes = (size for size in _SIZES_PT if _Layout(sheet, size).height(page) <= room_mm)
    layout = _Layout(sheet, next(sizes, _SIZES_PT[-1]))
    layout.write(fitted(page, lambda one: layout.height(one) <= room_mm))
    return bytes(sheet.output())


class _Sheet(FPDF):
    """One sheet on which every piece of text has its place in the structure of the document."""

    def __init__(self, paper: Paper) -> None:
        super().__init__(format=SIZE_MM[paper])
        # the letters that the chart is written in, which come with what draws it
        fonts = Path(get_data_path()) / "fonts" / "ttf"
        self.add_font("page", "", fonts / "DejaVuSans.ttf")
        self.add_font("page", "B", fonts / "DejaVuSans-Bold.ttf")
        self.set_margin(_MARGIN_MM)
        self.set_auto_page_break(auto=False)
        self.set_lang("en")
        self.viewer_preferences = ViewerPreferences(display_doc_title=True)
        self.add_page()
        self._word_mm: dict[tuple[str, bool], float] = {}

    @contextmanager
    def tagged(self, role: str, alt_text: str | None = None) -> Iterator[None]:
        """What is written within stands in the document's structure as ``role``: H1, P, Figure."""
        number = self.struct_builder.next_mcid_for_page(self.page)
        self._add_marked_content(struct_type=f"/{role}", mcid=number, alt_text=alt_text)
        self._out(f"/{role} <</MCID {number}>> BDC")
        yield
        self._out("EMC")

    def word_mm(self, word: str, bold: bool) -> float:
        """How wide a word is in letters of one point."""
        if (word, bold) not in self._word_mm:
            self.set_font("page", "B" if bold else "", 100)
            self._word_mm[word, bold] = self.get_string_width(word) / 100
        return self._word_mm[word, bold]


class _Layout:
    """Letters of one size on a sheet."""

    def __init__(self, sheet: _Sheet, size_pt: float) -> None:
        self.sheet = sheet
        self.size_pt = size_pt
        self.title_pt = size_pt + 4
        self.line_mm = size_pt * _LINE_MM_PER_PT
        self.text_mm = sheet.epw - _HEADING_MM
        self.chart_mm = HEIGHT_MM / WIDTH_MM * sheet.epw
        self._known: dict[Section, tuple[list[str], list[str]]] = {}

    def height(self, page: Page) -> float:
        """How high the page would be, in millimetres."""
        sheet = self.sheet
        lines = len(self._lines([page.subtitle], sheet.epw))
        lines += len(self._lines(page.foot[:1], sheet.epw, bold=True))
        lines += len(self._lines(page.foot[1:], sheet.epw))
        lines += sum(max(map(len, self._columns(section))) for section in page.sections)
        charts = sum(section.chart is not None for section in page.sections)
        gaps = len(page.sections) + charts + 2
        return (
            self.title_pt * _LINE_MM_PER_PT
            + lines * self.line_mm
            + charts * self.chart_mm
            + gaps * _BETWEEN_MM
        )

    def write(self, page: Page) -> None:
        """Write the page, from the top of the sheet."""
        sheet = self.sheet
        with sheet.tagged("H1"):
            self._write([page.title], bold=True, size_pt=self.title_pt)
        with sheet.tagged("P"):
            self._write(self._lines([page.subtitle], sheet.epw))
        for section in page.sections:
            sheet.set_y(sheet.get_y() + _BETWEEN_MM)
            self._write_section(section)
        sheet.set_y(sheet.get_y() + 2 * _BETWEEN_MM)
        with sheet.tagged("P"):
            self._write(self._lines(page.foot[:1], sheet.epw, bold=True), bold=True)
        with sheet.tagged("P"):
            self._write(self._lines(page.foot[1:], sheet.epw))

    def _write_section(self, section: Section) -> None:
        sheet = self.sheet
        top = sheet.get_y()
        heading, text = self._columns(section)
        with sheet.tagged("H2"):
            self._write(heading, bold=True)
        sheet.set_xy(sheet.l_margin + _HEADING_MM, top)
        with sheet.tagged("P"):
            self._write(text, bold=section.urgent, left_mm=sheet.l_margin + _HEADING_MM)
        sheet.set_y(top + max(len(heading), len(text)) * self.line_mm)
        if section.chart:
            sheet.set_y(sheet.get_y() + _BETWEEN_MM)
            with sheet.tagged("Figure", section.chart.alt):
                sheet.image(BytesIO(section.chart.png), w=sheet.epw)

    def _columns(self, section: Section) -> tuple[list[str], list[str]]:
        """The lines of the heading, and those of the text."""
        if section not in self._known:
            told = section.paragraphs
            texts = told if section.as_list else [" ".join(told)]
            self._known[section] = (
                self._lines([section.title], _HEADING_MM - 1, bold=True),
                self._lines(texts, self.text_mm, bold=section.urgent),
            )
        return self._known[section]

    def _lines(self, texts: Iterable[str], width_mm: float, *, bold: bool = False) -> list[str]:
        """The texts, each from the beginning of a line, broken between words."""
        lines: list[str] = []
        space_mm = self.sheet.word_mm(" ", bold) * self.size_pt
        for text in texts:
            left_mm = 0.0
            for word in text.split():
                word_mm = self.sheet.word_mm(word, bold) * self.size_pt
                if word_mm + space_mm <= left_mm:
                    lines[-1] += f" {word}"
                    left_mm -= word_mm + space_mm
                else:
                    lines.append(word)
                    left_mm = width_mm - word_mm
        return lines

    def _write(
        self,
        lines: Iterable[str],
        *,
        bold: bool = False,
        size_pt: float | None = None,
        left_mm: float = _MARGIN_MM,
    ) -> None:
        size_pt = size_pt or self.size_pt
        self.sheet.set_font("page", "B" if bold else "", size_pt)
        for line in lines:
            self.sheet.set_x(left_mm)
            height_mm = size_pt * _LINE_MM_PER_PT
            self.sheet.cell(0, height_mm, line, new_x=XPos.LMARGIN, new_y=YPos.NEXT)
