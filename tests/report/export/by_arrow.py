"""Compares a leg's Parquet with its CSV by pyarrow, which had no part in writing either.

``python -m tests.report.export.by_arrow LEG.parquet LEG.csv`` in an environment with pyarrow. It is
too large (170 MB) for the gate.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

from voice.report.export.csv_file import written


def differences(parquet: Path, table: Path) -> list[str]:
    """Every cell that is not the same, each in a line."""
    from pyarrow.parquet import read_table  # type: ignore[import-untyped, import-not-found, unused-ignore] # noqa: PLC0415 # fmt: skip

    found = read_table(parquet).to_pylist()
    with table.open(encoding="utf-8", newline="") as file:
        expected = list(csv.DictReader(file))
    if len(found) != len(expected):
        return [f"{len(found)} rows, and {len(expected)} in the CSV"]
    return [
        f"row {number}, {name}: {written(row.get(name))!r}, and {cell!r} in the CSV"
        for number, (row, cells) in enumerate(zip(found, expected, strict=True), 1)
        for name, cell in cells.items()
        if written(row.get(name)) != cell
    ]


if __name__ == "__main__":
    told = differences(Path(sys.argv[1]), Path(sys.argv[2]))
    sys.stdout.write("\n".join(told or ["Every cell is the same."]) + "\n")
    sys.exit(bool(told))
