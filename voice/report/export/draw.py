"""Draws what is made from the types of entries: the schema, and the list of columns.

``python -m voice.report.export.draw docs`` writes ``docs/schema/leg.schema.json`` and
``docs/export-columns.md`` anew.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from voice.report.export.document import schema
from voice.report.export.table import COLUMNS

_HEAD = """\
# Columns of the table

Of `legbook export --to csv`. Made from the types of entries; do not edit. To make it again:
`python -m voice.report.export.draw docs`. What all of it means: [exports.md](exports.md).

legbook records and reminds; it never orders care: local protocol, the written order and licensed
judgement come first.

| column | type | meaning |
|---|---|---|"""


def drawn() -> dict[str, str]:
    """The files by their names under ``docs``."""
    columns = [f"| `{c.name}` | {c.type} | {c.meaning} |" for c in COLUMNS]
    return {
        "schema/leg.schema.json": json.dumps(schema(), indent=2, ensure_ascii=False) + "\n",
        "export-columns.md": "\n".join((_HEAD, *columns, "")),
    }


def main(folder: Path) -> None:
    """Write the files."""
    for name, text in drawn().items():
        (folder / name).write_text(text, "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
