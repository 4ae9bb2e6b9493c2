"""The table as CSV, and what its columns mean beside it.

The file is pure data, as RFC 4180 has it: a row of names, CRLF, quotes where they are needed. What
a program cannot know from it, the caution first, stands in a file of the W3C's form for that (CSV
on the Web), which has the CSV's name and ``-metadata.json`` after it.
"""

from __future__ import annotations

import csv
import json
from datetime import datetime
from io import StringIO
from typing import TYPE_CHECKING

from voice.report.export.table import COLUMNS, rows
from voice.report.telling import damage

if TYPE_CHECKING:
    from voice.report.export.document import LegDocument
    from voice.report.export.table import Cell, ColumnType

_DATATYPES: dict[ColumnType, str] = {
    "text": "string",
    "whole number": "integer",
    "number": "double",
    "yes or no": "boolean",
    "time": "dateTime",
}
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def to_csv(document: LegDocument) -> str:
    """The table; an empty cell is a value that was not told, a time stands in UTC by ISO 8601."""
    text = StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    names = [column.name for column in COLUMNS]
    writer.writerow(names)
    for row in rows(document):
        writer.writerow([_harmless(row[name]) for name in names])
    return text.getvalue()


def _harmless(cell: Cell) -> str:
    """The cell as text; words that a spreadsheet would work out as a formula are shown instead.

    Source: OWASP, "CSV Injection" (from memory). Only what reviewers write can begin so.
    """
    text = written(cell)
    return f"'{text}" if isinstance(cell, str) and text.startswith(_FORMULA) else text


def metadata(document: LegDocument, csv_name: str) -> str:
    """What the columns of ``csv_name`` mean, as CSV on the Web has it."""
    journal = document.journal
    told = {
        "@context": "http://www.w3.org/ns/csvw",
        "url": csv_name,
        "dc:title": f"Entries of leg {document.leg.id}",
        "dc:description": " ".join((document.caution, *damage(document.leg))),
        "dc:creator": f"legbook {document.program_version}",
        "dc:source": f"journal, {journal.events} events, seal {journal.seal}" if journal else None,
        "tableSchema": {
            "columns": [
                {
                    "name": column.name,
                    "titles": column.name,
                    "datatype": _DATATYPES[column.type],
                    "dc:description": column.meaning,
                }
                for column in COLUMNS
            ],
            "primaryKey": "entry_number",
        },
    }
    return json.dumps({k: v for k, v in told.items() if v is not None}, indent=2) + "\n"


def written(cell: Cell) -> str:
    """A cell as text; a whole number has no point, whatever its column."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float):
        return repr(cell).removesuffix(".0")
    if isinstance(cell, datetime):
        return cell.isoformat().replace("+00:00", "Z")
    return str(cell)
