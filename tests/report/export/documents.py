"""The exports of three invented legs, and the files that hold them.

``python -m tests.report.export.documents`` writes the files anew; it refuses to overwrite one that
would change unless ``--force`` is given.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from tests.report.legs import GOLDEN, read_leg, write_golden
from voice.entries.history import EntryTurn
from voice.entries.leg import EntryState
from voice.record.chain import Head
from voice.record.proof import code
from voice.report.export.csv_file import to_csv
from voice.report.export.document import JournalHead, LegDocument, to_json
from voice.report.export.fhir.bundle import to_fhir

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from voice.entries.leg import Leg

SEAL = "0123456789abcdef" * 4
CODE = code(Head(99, SEAL))
NAMES = ("quiet", "troubled", "long")
FORMS = {"leg.csv": to_csv, "leg.json": to_json, "fhir.json": to_fhir}


@lru_cache
def document_of(name: str) -> LegDocument:
    """An invented leg as it is taken from its journal."""
    leg, now = read_leg(GOLDEN / f"{name}.toml")
    return LegDocument(
        program_version="0.0.0",
        as_of=leg.ended_at or now,
        journal=JournalHead(events=99, seal=SEAL, code=CODE),
        leg=leg,
        history=tuple(_turns(leg)),
    )


def _turns(leg: Leg) -> Iterator[EntryTurn]:
    """What has to have become of the entries, told at the time at which each was said."""
    for e in leg.entries:
        yield EntryTurn(number=e.number, became="kept", at=e.spoken_at)
        if e.replaces is not None:
            yield EntryTurn(number=e.replaces, became="corrected", at=e.spoken_at, other=e.number)
        if e.state is EntryState.CONFIRMED:
            yield EntryTurn(number=e.number, became="confirmed", at=e.spoken_at)
        if e.state is EntryState.WITHDRAWN:
            yield EntryTurn(number=e.number, became="withdrawn", at=e.spoken_at, why="scratch that")


def golden(name: str, form: str) -> Path:
    """The file with one export of a leg."""
    return GOLDEN / f"{name}.{form}"


def main() -> None:
    """Write the files."""
    for name in NAMES:
        for form, write in FORMS.items():
            write_golden(golden(name, form), write(document_of(name)))


if __name__ == "__main__":
    main()
