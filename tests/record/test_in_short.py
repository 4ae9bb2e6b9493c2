from __future__ import annotations

from typing import TYPE_CHECKING

from tests.record.conftest import at, fill, heard, kept, sound
from tests.record.long_journal import write
from voice.meaning.decision import Doubt, NotForUs, NotUnderstood
from voice.record.events import Noticed, to_text
from voice.record.in_short import HeardInShort, from_text_in_short
from voice.record.journal import Journal
from voice.record.reading import read_chain
from voice.record.shelf import verify

if TYPE_CHECKING:
    from pathlib import Path


def test_a_leg_read_in_short_is_the_same(journal: Journal, folder: Path) -> None:
    """A leg is the same whether what was heard is read in full or only counted."""
    fill(journal)
    for decision in (NotForUs(), NotUnderstood(doubt=Doubt.FAINT)):
        journal.append(heard(journal.add_clip(sound())).model_copy(update={"decision": decision}))
    full, short = read_chain([folder]), read_chain([folder], in_short=True)
    assert short.replay.leg() == full.replay.leg() == journal.leg()
    assert (short.head, short.findings) == (full.head, full.findings)
    assert len(short.events) == len(full.events) - 5


def test_only_what_was_heard_is_shortened() -> None:
    """A text that looks like a heard event inside another event shortens nothing."""
    notice = Noticed(at=at(1), text='"event":"heard"')
    assert from_text_in_short(to_text(notice)) == notice
    assert from_text_in_short(to_text(kept(1))) == kept(1)
    assert isinstance(from_text_in_short(to_text(heard())), HeardInShort)


def test_a_long_journal_is_whole(folder: Path) -> None:
    """The long journal whose opening is timed is a leg like any other."""
    write(folder, 201)
    assert verify(folder).head.number == 201
    with Journal.open(folder, at(0)) as journal:
        assert len(journal.leg().entries) == 50
