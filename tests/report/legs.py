"""Invented legs as TOML, and the summaries that they must give.

Beside the kind and its fields a row tells about the entry (`ABOUT_ENTRY`); a field of the kind that
has such a name stands under ``told``.

``python -m tests.report.legs`` writes the summaries anew; it refuses to overwrite one that would
change unless ``--force`` is given.
"""

from __future__ import annotations

import sys
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING

from voice.entries.leg import Leg
from voice.report.summary import summary_text

if TYPE_CHECKING:
    from datetime import datetime

GOLDEN = Path(__file__).parent / "golden"
LEGS = tuple(sorted(GOLDEN.glob("*.toml")))


ABOUT_ENTRY = ("heard", "state", "replaces", "replaced_by", "clip")


def read_leg(path: Path) -> tuple[Leg, datetime]:
    """The leg of a file, and the moment at which its summary is asked for."""
    told = tomllib.loads(path.read_text("utf-8"))
    entries = []
    for number, row in enumerate(told.pop("entry"), 1):
        happened_at = row.pop("at")
        times = {"happened_at": happened_at, "spoken_at": row.pop("said", happened_at)}
        about = {key: row.pop(key) for key in ABOUT_ENTRY if key in row}
        entry = row | row.pop("told", {})
        entries.append(
            {"number": number, "heard": "", "state": "confirmed", **times, **about, "entry": entry}
        )
    now = told.pop("now")
    leg = Leg.model_validate({"id": path.stem, "settings": {}, "entries": entries, **told})
    return leg, now


def write_golden(golden: Path, text: str) -> None:
    """Write a file that is missing, and with ``--force`` also one that would change; else end here."""
    if golden.exists():
        if golden.read_bytes() == text.encode():
            return
        if "--force" not in sys.argv:
            sys.exit(f"{golden.name} would change: look at why, then give --force.")
    golden.write_bytes(text.encode())  # a CSV ends its lines as it says


def main() -> None:
    """Write the summaries."""
    for path in LEGS:
        write_golden(path.with_suffix(".txt"), summary_text(*read_leg(path)))


if __name__ == "__main__":
    main()
