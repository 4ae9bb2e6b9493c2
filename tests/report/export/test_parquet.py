"""The leg as Parquet."""

from __future__ import annotations

import csv
import sys
from datetime import UTC, datetime
from io import StringIO
from typing import TYPE_CHECKING, Any

import duckdb
import pytest

from tests.report.export.documents import NAMES, SEAL, document_of
from voice.report.export.csv_file import to_csv, written
from voice.report.export.document import ExportError, LegDocument
from voice.report.export.identity import without_identity
from voice.report.export.parquet import to_parquet
from voice.report.export.table import COLUMNS
from voice.report.telling import CAUTION

if TYPE_CHECKING:
    from pathlib import Path


def read(document: LegDocument, folder: Path) -> list[dict[str, Any]]:
    """The rows of the file; times as moments."""
    file = folder / "leg.parquet"
    file.write_bytes(to_parquet(document))
    told = ", ".join(
        f'epoch_us("{c.name}") AS "{c.name}"' if c.type == "time" else f'"{c.name}"'
        for c in COLUMNS
    )
    with duckdb.connect() as database:
        found = database.execute(f"SELECT {told} FROM '{file}'").fetchall()
    rows = [dict(zip([c.name for c in COLUMNS], row, strict=True)) for row in found]
    for row in rows:
        for name in ("happened_at", "spoken_at"):
            row[name] = datetime.fromtimestamp(row[name] / 1e6, UTC)
    return rows


@pytest.mark.parametrize("name", NAMES)
def test_it_holds_what_the_csv_holds(name: str, tmp_path: Path) -> None:
    """Every cell that is read back is, written down, that of the CSV, and no more."""
    expected = list(csv.DictReader(StringIO(to_csv(document_of(name)), newline="")))
    found = read(document_of(name), tmp_path)
    assert [{key: written(cell) for key, cell in row.items()} for row in found] == expected


def test_its_own_metadata_warns_and_names_the_seal(tmp_path: Path) -> None:
    """Whoever looks into the file finds the caution, the leg and the seal of its journal."""
    file = tmp_path / "leg.parquet"
    quoted = document_of("quiet").leg.model_copy(update={"id": "it's"})
    file.write_bytes(to_parquet(document_of("quiet").model_copy(update={"leg": quoted})))
    with duckdb.connect() as database:
        found = database.execute(f"SELECT key, value FROM parquet_kv_metadata('{file}')").fetchall()
    told = {key.decode(): value.decode() for key, value in found}
    assert told["caution"] == CAUTION
    assert told["leg"] == "it's"
    assert told["journal_seal"] == SEAL
    assert told["journal_events"] == "99"


def test_a_leg_without_entries_and_identity_is_a_table_too(tmp_path: Path) -> None:
    """Nothing said gives no row, and without identity no seal is named."""
    document = document_of("quiet")
    leg = document.leg.model_copy(update={"entries": ()})
    empty = without_identity(document.model_copy(update={"leg": leg, "history": ()}))
    assert read(empty, tmp_path) == []
    assert SEAL.encode() not in to_parquet(without_identity(document))


def test_where_its_writer_is_missing_the_way_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without duckdb the error says what to install, and that the CSV holds the same."""
    monkeypatch.setitem(sys.modules, "duckdb", None)
    with pytest.raises(ExportError, match=r"pip install duckdb\. Or take --to csv"):
        to_parquet(document_of("quiet"))
