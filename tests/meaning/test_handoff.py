from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from voice.entries.kinds.drain import DrainClamped
from voice.entries.kinds.neuro import Pupil
from voice.meaning.grammar import GrammarError
from voice.meaning.handoff import load_needs, missing

if TYPE_CHECKING:
    from pathlib import Path

NEEDS = load_needs()


def test_all_is_missing_of_a_silent_leg() -> None:
    """Where nothing was told everything is missing, in the order of the list."""
    assert missing((), NEEDS) == tuple(need.name for need in NEEDS)
    assert NEEDS


def test_any_of_its_entries_tells_a_need() -> None:
    """One pupil tells of the pupils, a clamped drain how it stands."""
    left = missing((Pupil(side="left", size_mm=4), DrainClamped()), NEEDS)
    assert {n.name for n in NEEDS} - set(left) == {"pupils", "drain open or clamped"}


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("about = ", "own.toml is not valid TOML"),
        ('about = "a"\nneeds = []', 'own.toml: .*"need'),
        ('about = "a"\n[[need]]\nname = "level"', 'own.toml, need "level": it lacks "told"'),
        (
            'about = "a"\n[[need]]\nname = "level"\ntold = [{ kind = "height" }]',
            'own.toml, need "level": there is no kind of entry "height"',
        ),
    ],
)
def test_fault_is_told_with_file_and_need(tmp_path: Path, written: str, told: str) -> None:
    """A list that cannot be used names its file and the need."""
    path = tmp_path / "own.toml"
    path.write_text(written, "utf-8")
    with pytest.raises(GrammarError, match=told):
        load_needs(path)


def test_list_of_a_programme_takes_the_place_of_the_shipped_one(tmp_path: Path) -> None:
    """Of several lists the last that is there is used, and where none is, the shipped one."""
    own = tmp_path / "own.toml"
    own.write_text(
        'about = "a"\n[[need]]\nname = "urine"\ntold = [{ kind = "urine_out" }]', "utf-8"
    )
    assert load_needs(tmp_path / "none.toml") == NEEDS
    assert [need.name for need in load_needs(own, tmp_path / "none.toml")] == ["urine"]
