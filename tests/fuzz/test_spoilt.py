from __future__ import annotations

from itertools import islice
from pathlib import Path
from random import Random

import pytest

from tests.fuzz.spoilt import Kind, Outcome, is_fine, kinds, read_spoilt, spoilt_files
from voice.entries.errors import LegbookError

CORPUS = sorted((Path(__file__).parent / "corpus").iterdir())
"""Files that once crashed their reader; the name begins with their kind."""


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder for what is spoilt; the settings are found where each reader puts them."""
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    monkeypatch.delenv("LEGBOOK_SPARE", raising=False)
    return tmp_path


def test_spoilt_files_crash_nothing(home: Path) -> None:
    """Sound, journals, phrases, packs, exports and settings that were spoilt at random end in a sentence."""
    outcomes = [outcome for outcome, _ in islice(spoilt_files(home, Random(6)), 200)]
    assert [outcome for outcome in outcomes if not is_fine(outcome)] == []
    assert len({outcome.kind for outcome in outcomes}) == 13
    assert sum(outcome.became == "told" for outcome in outcomes) > 100


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
