"""Real sound and a real recogniser, in a room where the program hears itself as loud as the nurse."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.session.room import Line, Room
from tests.session.talking_over import ENTRY, OVER_S, Bench, confirmed
from voice.dialogue.actions import Confirm, Keep, Withdraw
from voice.session.progress import SegmentHeard, Spoken, Written

if TYPE_CHECKING:
    from pathlib import Path

SILENT_S = 0.25
"""After the end of a word the program is silent by then."""


def test_it_hears_the_nurse_over_itself_and_never_itself(tmp_path: Path) -> None:
    """A word over a read-back is obeyed within 250 ms, one too soon confirms nothing, and we hear not ourselves."""
    lines = [
        Line("start leg"), Line("confirm"), Line(ENTRY), Line("negative", OVER_S),
        Line("no drip at zero"), Line("confirm", 0.4),
    ]  # fmt: skip
    room = Room(lines, echo_db=0.0)
    told = Bench(tmp_path).sit(room)
    assert [one.text for one in told if isinstance(one, SegmentHeard)] == [
        line.text for line in lines
    ]
    written = [one.action for one in told if isinstance(one, Written)]
    assert [type(action) for action in written] == [Keep, Withdraw, Keep]
    assert confirmed(told) == 0
    texts = [one.text for one in told if isinstance(one, Spoken)]
    assert "nothing to confirm" in texts
    assert "not yet" in texts
    words = [(text, end_s) for text, begin_s, end_s in room.said if text in {"negative", "confirm"}]
    assert len(room.silenced_s) == 2
    for (_, end_s), silent_s in zip(words[1:], room.silenced_s, strict=True):
        assert silent_s - end_s < SILENT_S


def test_nothing_said_over_it_vanishes(tmp_path: Path) -> None:
    """An entry over a read-back is told not to be taken, and one over the tone of "confirm" is taken."""
    lines = [
        Line("start leg"), Line(ENTRY), Line("drained six mils", OVER_S), Line("confirm"),
        Line("heart rate eighty eight", 0.05), Line("confirm"), Line("five minutes ago"),
    ]  # fmt: skip
    told = Bench(tmp_path).sit(Room(lines, echo_db=0.0))
    texts = [one.text for one in told if isinstance(one, Spoken)]
    assert "drained six mils: not taken; say it again" in texts
    kept = [one.action for one in told if isinstance(one, Written) and isinstance(one.action, Keep)]
    assert [action.text for action in kept] == [
        ENTRY,
        "heart rate eighty eight",
        "heart rate eighty eight five minutes ago",
    ]
    assert kept[-1].replaces == kept[-2].number
    assert confirmed(told) == 1


def test_a_confirm_and_the_next_entry_in_one_breath(tmp_path: Path) -> None:
    """Each "confirm" counts for what was read back, what comes with it waits, and over a read-back both are told."""
    lines = [
        Line("start leg"), Line(ENTRY), Line("confirm drained six mils"), Line("confirm heart rate eighty eight", 0.3),
        Line("confirm temperature thirty eight"),
    ]  # fmt: skip
    told = Bench(tmp_path).sit(Room(lines, echo_db=0.0))
    written = [one.action for one in told if isinstance(one, Written)]
    assert [type(action) for action in written] == [Keep, Confirm, Keep, Confirm, Keep]
    texts = [one.text for one in told if isinstance(one, Spoken)]
    assert texts[-4:] == [
        "drained, six mils",
        "confirm heart rate eighty eight: not taken; say it again",
        "drained, six mils",
        "temperature, three eight",
    ]
