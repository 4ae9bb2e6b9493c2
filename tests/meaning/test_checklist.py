"""Check lists as data."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from voice.entries.kinds.drain import DrainClamped, DrainZeroed
from voice.entries.leg import LegSettings
from voice.entries.said import StartCheck
from voice.meaning.checklist import FOLDER, Pattern, load_checklists
from voice.meaning.grammar import load_grammar
from voice.meaning.phrase import GrammarError

if TYPE_CHECKING:
    from pathlib import Path

GRAMMAR = load_grammar()
SETTINGS = LegSettings()
LISTS = load_checklists(GRAMMAR, SETTINGS)


def test_the_shipped_lists_are_those_that_can_be_started() -> None:
    """There are checks before leaving, around a move, and before care is handed over."""
    assert set(LISTS) == {"before leaving", "before the move", "after the move", "before handover"}
    assert GRAMMAR.parse("check before leaving", SETTINGS) == (StartCheck(check="before leaving"),)


def test_every_item_can_be_answered() -> None:
    """Each question has an entry that settles it, and "yes" makes one that does."""
    for checklist in LISTS.values():
        for item in checklist.items:
            assert item.settled
            assert item.yes or item.hint
            if item.yes is not None and item.yes.entry.kind != "check_answer":
                assert any(pattern.fits(item.yes.entry) for pattern in item.settled), item.name


def test_names_can_be_read_back() -> None:
    """An item's name is spoken with "yes" or "no" after it: no signs and no capitals in it."""
    for checklist in LISTS.values():
        for item in checklist.items:
            assert item.name.replace(" ", "").isalpha()
            assert item.name.islower()


def test_pattern_fits_by_its_fields() -> None:
    """A pattern without fields fits the kind; with fields, these must be so."""
    pattern = Pattern("drain_clamped", (("reason", "transfer"),))
    assert pattern.fits(DrainClamped(reason="transfer"))
    assert not pattern.fits(DrainClamped())
    assert not pattern.fits(DrainZeroed())
    assert Pattern("drain_clamped").fits(DrainClamped())


GOOD = """
about = "A list."
check = "before leaving"
[[item]]
name = "mount"
ask = "does it fit?"
settled = [{ kind = "mount_fits" }]
yes = "mount fits"
no = true
"""


def folder_with(folder: Path, text: str) -> Path:
    """The shipped lists, one of them replaced."""
    for file in FOLDER.glob("*.toml"):
        (folder / file.name).write_text(file.read_text("utf-8"), "utf-8")
    (folder / "before_leaving.toml").write_text(text, "utf-8")
    return folder


def test_a_programme_may_put_its_own_list(tmp_path: Path) -> None:
    """A list in a folder of the programme's own stands in place of the shipped one of its name."""
    (tmp_path / "ours.toml").write_text(GOOD, "utf-8")
    lists = load_checklists(GRAMMAR, SETTINGS, tmp_path, tmp_path / "none")
    assert [item.name for item in lists["before leaving"].items] == ["mount"]
    assert lists["after the move"] == LISTS["after the move"]


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("check =", "chek = 1\ncheck =", 'before_leaving.toml: nobody knows "chek"'),
        ("check = ", "check = 5 #", 'before_leaving.toml: "check" cannot be 5'),
        ("[[item]]", "[[item", "before_leaving.toml is not valid TOML"),
        ("mount_fits", "mount", 'item "mount": there is no kind of entry "mount"'),
        ('"mount_fits"', '"mount_fits", size = 2', 'item "mount": MountFits has no field "size"'),
        ('"mount_fits"', '"mount_fits", fits = "x"', 'item "mount": fits cannot be x'),
        ('yes = "mount fits"', 'yes = "mounted"', 'item "mount": "mounted" is no entry'),
        ('yes = "mount fits"', 'yes = "confirm"', 'item "mount": "confirm" is no entry'),
        ("no = true", "", 'item "mount": it needs a hint'),
        ("ask = ", "asks = ", 'item "mount": it lacks "ask"'),
        ("before leaving", "before lunch", 'The check "before leaving": there is no such list'),
        ("before leaving", "before the move", 'there is another list "before the move"'),
    ],
)
def test_faults_are_told_with_file_and_item(
    tmp_path: Path, old: str, new: str, sentence: str
) -> None:
    """Every fault of a list is a sentence that names the file and the item."""
    with pytest.raises(GrammarError) as raised:
        load_checklists(GRAMMAR, SETTINGS, shipped=folder_with(tmp_path, GOOD.replace(old, new)))
    assert sentence in str(raised.value)


def test_other_faults_of_whole_lists(tmp_path: Path) -> None:
    """A list without items, one item twice, and a list that nothing starts are faults."""
    item = GOOD[GOOD.index("[[item]]") :]
    for text, sentence in (
        (GOOD.replace(item, "item = []"), "it has no item"),
        (GOOD + item, "there is another item of this name"),
    ):
        with pytest.raises(GrammarError, match=sentence):
            load_checklists(GRAMMAR, SETTINGS, shipped=folder_with(tmp_path, text))
    folder_with(tmp_path, GOOD)
    (tmp_path / "other.toml").write_text(GOOD.replace("before leaving", "before lunch"), "utf-8")
    with pytest.raises(GrammarError, match='"before lunch": no phrase starts it'):
        load_checklists(GRAMMAR, SETTINGS, shipped=tmp_path)
