"""The leg as a table."""

from __future__ import annotations

import csv
import json
from io import StringIO

import pytest

from tests.report.export.documents import NAMES, SEAL, document_of, golden
from tests.report.test_wording import EXPECTED
from voice.entries.leg import DAMAGE, EntryState, LegEntry, Notice
from voice.report.export.csv_file import metadata, to_csv
from voice.report.export.identity import without_identity
from voice.report.export.parquet import to_parquet
from voice.report.export.table import COLUMNS, DAMAGED, kinds
from voice.report.telling import CAUTION

each_leg = pytest.mark.parametrize("name", NAMES)


def read(text: str) -> list[dict[str, str]]:
    """The rows, strictly as RFC 4180 has them."""
    return list(csv.DictReader(StringIO(text, newline=""), strict=True))


@each_leg
def test_the_table_is_the_golden_one(name: str) -> None:
    """The export of an invented leg is, to the byte, the one that was looked at."""
    assert to_csv(document_of(name)).encode() == golden(name, "leg.csv").read_bytes()


@each_leg
def test_every_entry_has_a_row_with_its_state_and_the_seal(name: str) -> None:
    """A row an entry, in their order; none hides its state or where it comes from."""
    text = to_csv(document_of(name))
    assert text.count("\r\n") == text.count("\n") == len(document_of(name).leg.entries) + 1
    for row, entry in zip(read(text), document_of(name).leg.entries, strict=True):
        assert row["entry_number"] == str(entry.number)
        assert row["entry_state"] == entry.state
        assert row["journal_seal"] == SEAL


def test_every_field_of_every_kind_is_told() -> None:
    """Whatever kind an entry is of, each of its fields stands in its own column as it was told."""
    document = document_of("quiet")
    at = document.leg.started_at
    entries = tuple(
        LegEntry(
            number=number, entry=entry, heard="", spoken_at=at, happened_at=at,
            state=EntryState.CONFIRMED,
        )
        for number, (entry, _) in enumerate(EXPECTED, 1)
    )  # fmt: skip
    leg = document.leg.model_copy(update={"entries": entries})
    rows = read(to_csv(document.model_copy(update={"leg": leg})))
    assert {row["kind"] for row in rows} == {k.model_fields["kind"].default for k in kinds()}
    for row, (entry, _) in zip(rows, EXPECTED, strict=True):
        for field, told in entry.model_dump().items():
            cell = row[field]
            if isinstance(told, bool):
                assert cell == str(told).lower()
            elif isinstance(told, int | float):
                assert float(cell) == told
            else:
                assert cell == (told or "")


def test_no_two_columns_have_one_name() -> None:
    """A field of an entry never hides what is told about the entry."""
    names = [column.name for column in COLUMNS]
    assert len(set(names)) == len(names)


def test_what_has_commas_and_quotes_comes_back() -> None:
    """Signs that mean something in a CSV come back as they were."""
    document = document_of("quiet")
    heard = 'one, "two"\r\nthree'
    entry = document.leg.entries[0].model_copy(update={"heard": heard})
    leg = document.leg.model_copy(update={"entries": (entry,)})
    (row,) = read(to_csv(document.model_copy(update={"leg": leg})))
    assert row["heard"] == heard


def test_no_words_are_worked_out_as_a_formula() -> None:
    """What a reviewer writes is words to a spreadsheet, whatever they begin with."""
    document = document_of("quiet")
    entry = document.leg.entries[0].model_copy(update={"written_down": '=HYPERLINK("x")'})
    leg = document.leg.model_copy(update={"entries": (entry,)})
    (row,) = read(to_csv(document.model_copy(update={"leg": leg})))
    assert row["written_down"] == """'=HYPERLINK("x")"""


def test_a_mark_stands_in_its_row() -> None:
    """A pressure that was read after a failed zero says so in the table too."""
    rows = read(to_csv(document_of("troubled")))
    marks = {row["entry_marks"] for row in rows if row["kind"] == "pressure"}
    assert "not to be relied on: zero failed 23:35" in marks


def test_damage_stands_in_every_row_and_beside_the_table() -> None:
    """A table of a damaged journal, in which entries may be missing, says so wherever it is opened."""
    document = document_of("quiet")
    damage = Notice(at=document.as_of, text=f"{DAMAGE}Event 8 was changed.")
    leg = document.leg.model_copy(update={"notices": (damage,)})
    damaged = document.model_copy(update={"leg": leg})
    for told in (damaged, without_identity(damaged)):
        assert all(DAMAGED in row["entry_marks"] for row in read(to_csv(told)))
    beside = json.loads(metadata(damaged, "leg.csv"))["dc:description"]
    assert beside == f"{CAUTION} The journal is NOT as it was written: Event 8 was changed."
    nameless = json.loads(metadata(without_identity(damaged), "leg.csv"))["dc:description"]
    assert (
        nameless == f"{CAUTION} The journal is NOT as it was written: what is damaged is not told."
    )
    assert beside.encode() in to_parquet(damaged)
    assert not any(DAMAGED in row["entry_marks"] for row in read(to_csv(document)))


def test_what_stands_beside_it_warns_and_explains_each_column() -> None:
    """The metadata names every column of the file, the seal, and the caution."""
    told = json.loads(metadata(document_of("quiet"), "leg.csv"))
    header = next(csv.reader(StringIO(to_csv(document_of("quiet")))))
    assert [c["name"] for c in told["tableSchema"]["columns"]] == header
    assert told["dc:description"] == CAUTION
    assert SEAL in told["dc:source"]
    assert told["url"] == "leg.csv"
