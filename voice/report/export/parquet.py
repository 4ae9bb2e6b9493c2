"""The table as Parquet, for analysis.

duckdb writes it. It is no part of what legbook runs with, since it is large (66 MB) and no leg needs
it: whoever wants Parquet installs it once.
"""

from __future__ import annotations

from itertools import chain
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from voice.report.export.document import ExportError
from voice.report.export.table import COLUMNS, rows
from voice.report.telling import damage

if TYPE_CHECKING:
    from voice.report.export.document import LegDocument
    from voice.report.export.table import ColumnType

_TYPES: dict[ColumnType, str] = {
    "text": "VARCHAR",
    "whole number": "BIGINT",
    "number": "DOUBLE",
    "yes or no": "BOOLEAN",
    "time": "TIMESTAMPTZ",
}

_AT_ONCE = 25
"""Rows that are handed over together: one by one takes four times as long."""


def to_parquet(document: LegDocument) -> bytes:
    """The table; what was not told is null, a time is a moment in UTC.

    The caution, the leg and its seal stand in the file's own metadata.

    Raises:
        ExportError: where duckdb is not installed.
    """
    try:
        import duckdb  # noqa: PLC0415 - is there only where it was asked for
    except ImportError:
        raise ExportError(
            "Parquet needs duckdb, which legbook does not bring along. Install it with: "
            ".venv/bin/pip install duckdb. Or take --to csv: the table is the same."
        ) from None
    columns = ", ".join(f'"{column.name}" {_TYPES[column.type]}' for column in COLUMNS)
    place = f"({', '.join('?' * len(COLUMNS))})"
    told = [[row[column.name] for column in COLUMNS] for row in rows(document)]
    # One thread: the same leg is to give the same bytes.
    with (
        TemporaryDirectory() as folder,
        duckdb.connect(":memory:", config={"threads": 1}) as database,
    ):
        file = Path(folder) / "leg.parquet"
        database.execute(f"CREATE TABLE entries ({columns})")
        for first in range(0, len(told), _AT_ONCE):
            some = told[first : first + _AT_ONCE]
            places = ", ".join([place] * len(some))
            database.execute(
                f"INSERT INTO entries VALUES {places}",  # noqa: S608 - question marks
                list(chain.from_iterable(some)),
            )
        database.execute(
            f"COPY entries TO {_quoted(str(file))} "
            f"(FORMAT parquet, COMPRESSION zstd, KV_METADATA {{{_metadata(document)}}})"
        )
        return file.read_bytes()


def _metadata(document: LegDocument) -> str:
    journal = document.journal
    told = {
        "caution": " ".join((document.caution, *damage(document.leg))),
        "leg": document.leg.id,
        "program": f"legbook {document.program_version}",
        "journal_events": str(journal.events) if journal else None,
        "journal_seal": journal.seal if journal else None,
    }
    return ", ".join(f"{key}: {_quoted(value)}" for key, value in told.items() if value is not None)


def _quoted(text: str) -> str:
    """As SQL has a text."""
    return "'" + text.replace("'", "''") + "'"
