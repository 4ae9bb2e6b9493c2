"""The leg as JSON, and back."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema_rs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.report.export.documents import NAMES, document_of, golden
from tests.report.legs import LEGS, read_leg
from voice.report.export.document import ExportError, from_json, to_json
from voice.report.export.draw import drawn, main

DOCS = Path(__file__).parents[3] / "docs"
SCHEMA = json.loads((DOCS / "schema" / "leg.schema.json").read_text("utf-8"))

each_leg = pytest.mark.parametrize("name", NAMES)


@each_leg
def test_the_document_is_the_golden_one(name: str) -> None:
    """The export of an invented leg is, to the byte, the one that was looked at."""
    assert to_json(document_of(name)).encode() == golden(name, "leg.json").read_bytes()


@pytest.mark.parametrize("path", LEGS, ids=lambda path: path.stem)
def test_reading_it_gives_the_same_leg(path: Path) -> None:
    """What is exported and read again is equal to the leg that it was."""
    leg, _ = read_leg(path)
    document = document_of("quiet").model_copy(update={"leg": leg})
    assert from_json(to_json(document)) == document


def test_what_is_drawn_is_up_to_date() -> None:
    """The published schema and the list of columns are those that the types of entries give."""
    for name, text in drawn().items():
        assert (DOCS / name).read_text("utf-8") == text, f"draw {name} anew: DEVELOPERS.md"


def test_drawing_writes_them_all(tmp_path: Path) -> None:
    """What is drawn lies where it is looked for."""
    (tmp_path / "schema").mkdir()
    main(tmp_path)
    assert {name: (tmp_path / name).read_text("utf-8") for name in drawn()} == drawn()


@each_leg
def test_another_library_finds_it_as_the_schema_has_it(name: str) -> None:
    """A validator that had no part in writing it finds the document and its digest in order."""
    validator = jsonschema_rs.Draft202012Validator(SCHEMA, validate_formats=True)
    told = json.loads(golden(name, "leg.json").read_text("utf-8"))
    assert not [str(error) for error in validator.iter_errors(told)]
    del told["leg"]["entries"][0]["happened_at"]
    assert not validator.is_valid(told)


GOLDEN_TEXT = golden("troubled", "leg.json").read_text("utf-8")


@settings(max_examples=60)
@given(st.data())
def test_no_changed_value_is_read(data: st.DataObject) -> None:
    """A digit that was changed anywhere in the file is found, and the file refused."""
    digits = [i for i, sign in enumerate(GOLDEN_TEXT) if sign in "123456789"]
    place = data.draw(st.sampled_from(digits))
    other = data.draw(st.sampled_from("123456789").filter(lambda d: d != GOLDEN_TEXT[place]))
    with pytest.raises(ExportError, match="The file"):
        from_json(GOLDEN_TEXT[:place] + other + GOLDEN_TEXT[place + 1 :])


def test_each_refusal_says_what_is_wrong() -> None:
    """What is no JSON, no leg, another version or a changed leg is told apart."""
    told = json.loads(GOLDEN_TEXT)
    leg = told["leg"]
    cases = {
        "is not JSON, or was cut off": GOLDEN_TEXT[:-9],
        "is not a leg that legbook exported": "[]",
        "is of format version 2; this legbook reads 1": json.dumps(told | {"format_version": 2}),
        "was changed after legbook wrote it": json.dumps(told | {"leg": leg | {"passed_over": 8}}),
    }
    for sentence, text in cases.items():
        with pytest.raises(ExportError, match=f"leg.json {sentence}"):
            from_json(text, "leg.json")


def test_a_document_of_another_version_is_told_by_what_cannot_be_read() -> None:
    """A whole document with a kind of entry that this legbook does not know is refused by its place."""
    document = document_of("quiet")
    entry = document.leg.entries[0].model_copy(update={"entry": document.leg.settings})
    leg = document.leg.model_copy(update={"entries": (entry,)})
    with pytest.warns(UserWarning, match="serializer"):
        text = to_json(document.model_copy(update={"leg": leg}))
    with pytest.raises(ExportError, match=r"another version.*leg\.entries\.0\.entry"):
        from_json(text)
