"""The page as HTML, whole: headings, lists and tables that a screen reader can walk through."""

from __future__ import annotations

from base64 import b64encode
from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from voice.report.page.chart import Chart
    from voice.report.page.content import Page, Section
    from voice.report.page.course import Table

_STYLE = """
body { color: #000; background: #fff; font: 1rem/1.45 sans-serif; max-width: 62rem; margin: 1rem auto;
  padding: 0 1rem; }
h1 { font-size: 1.6rem; margin: 0; }
h2 { font-size: 1.1rem; margin: 1rem 0 0; }
ul { margin: 0; padding-left: 1.2rem; }
.urgent, .caution { font-weight: bold; }
figure { margin: 1rem 0; }
img { width: 100%; height: auto; }
table { border-collapse: collapse; margin: 1rem 0; }
caption { text-align: left; font-weight: bold; }
th, td { border: 1px solid #000; padding: 0.15rem 0.6rem; text-align: left; }
"""


def html(page: Page) -> str:
    """The page as one HTML document that needs no other file; nothing is left out."""
    caution, *rest = (escape(text) for text in page.foot)
    body = [
        f"<h1>{escape(page.title)}</h1>",
        f"<p>{escape(page.subtitle)}</p>",
        *(line for section in page.sections for line in _section(section)),
    ]
    foot = [f'<p class="caution">{caution}</p>', *(f"<p>{text}</p>" for text in rest)]
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(page.title)}</title>",
        f"<style>{_STYLE}</style>",
        "</head>",
        "<body>",
        "<main>",
        *body,
        "</main>",
        "<footer>",
        *foot,
        "</footer>",
        "</body>",
        "</html>",
    ]
    return "\n".join(lines) + "\n"


def _section(section: Section) -> list[str]:
    urgent = ' class="urgent"' if section.urgent else ""
    return [
        f"<h2>{escape(section.title)}</h2>",
        f"<ul{urgent}>",
        *(f"<li>{escape(text)}</li>" for text in section.paragraphs),
        "</ul>",
        *(_chart(section.chart) if section.chart else []),
    ]


def _chart(chart: Chart) -> list[str]:
    picture = b64encode(chart.png).decode("ascii")
    return [
        "<figure>",
        f'<img src="data:image/png;base64,{picture}" alt="{escape(chart.alt)}">',
        "<figcaption>Pressures, the drain, drugs and output over the time of the leg.</figcaption>",
        "</figure>",
        *(line for table in chart.tables for line in _table(table)),
    ]


def _table(table: Table) -> list[str]:
    heads = "".join(f'<th scope="col">{escape(head)}</th>' for head in table.heads)
    return [
        "<table>",
        f"<caption>{escape(table.caption)}</caption>",
        f"<thead><tr>{heads}</tr></thead>",
        "<tbody>",
        *(_row(row) for row in table.rows),
        "</tbody>",
        "</table>",
    ]


def _row(row: tuple[str, ...]) -> str:
    about, *cells = (escape(cell) for cell in row)
    return f'<tr><th scope="row">{about}</th>{"".join(f"<td>{cell}</td>" for cell in cells)}</tr>'
