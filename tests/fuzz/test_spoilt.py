from __future__ import annotations

from itertools import islice
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

import pytest

from tests.fuzz.kinds import Kind, kinds
from tests.fuzz.spoilt import Outcome, is_fine, read_spoilt, spoilt_files
from voice.entries.errors import LegbookError
from voice.record.protection import OPENED, PASSPHRASE

if TYPE_CHECKING:
    from collections.abc import Iterator

CORPUS = sorted((Path(__file__).parent / "corpus").iterdir())
"""Files that once crashed their reader; the name begins with their kind."""


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder for what is spoilt; what each reader sets is put back afterwards."""
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    monkeypatch.setenv(PASSPHRASE, "")
    monkeypatch.delenv("LEGBOOK_SPARE", raising=False)
    yield tmp_path
    OPENED.forget()


def test_spoilt_files_crash_nothing(home: Path) -> None:
    """Sound, journals, phrases, packs, exports and settings that were spoilt at random end in a sentence."""
    outcomes = [outcome for outcome, _ in islice(spoilt_files(home, Random(6)), 250)]
    assert [outcome for outcome in outcomes if not is_fine(outcome)] == []
    assert {outcome.kind for outcome in outcomes} == {kind.name for kind in kinds(home / "again")}
    assert sum(outcome.became == "told" for outcome in outcomes) > 100


def test_whole_files_are_read(home: Path) -> None:
    """What is not spoilt is read: so what is told of spoilt files comes of the faults. A sealed leg takes nothing more."""
    became = {kind.name: read_spoilt(kind, kind.content, home).became for kind in kinds(home)}
    assert became == dict.fromkeys(became, "read") | {"sealed": "told"}


@pytest.mark.parametrize("file", CORPUS, ids=lambda file: file.name)
def test_what_once_crashed_is_told(home: Path, file: Path) -> None:
    """A file that once crashed its reader ends in a sentence."""
    readers = {kind.name: kind for kind in kinds(home)}
    assert is_fine(read_spoilt(readers[file.name.partition("-")[0]], file.read_bytes(), home))


def test_a_crash_would_be_seen(tmp_path: Path) -> None:
    """What raises anything but a sentence for a person is no fine outcome."""

    def crash(_file: Path) -> None:
        raise ZeroDivisionError

    def tell(_file: Path) -> None:
        raise LegbookError("It is damaged.")

    assert not is_fine(read_spoilt(Kind("any", b"", crash), b"", tmp_path))
    assert read_spoilt(Kind("any", b"", tell), b"", tmp_path) == Outcome("any", "told")
