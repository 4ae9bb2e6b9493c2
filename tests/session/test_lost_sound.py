"""What is told of sound that was lost."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tests.session.scripted import Sitting, says
from voice.entries.heard import Block
from voice.session.lost_sound import SPOKEN, LostSound

if TYPE_CHECKING:
    from pathlib import Path


def told(*blocks: tuple[float, float]) -> list[tuple[str, bool]]:
    """What is told of blocks, each with its start and what was lost before it."""
    lost = LostSound()
    losses = [lost.after(Block(at_s, np.zeros(512, np.int16), lost_s)) for at_s, lost_s in blocks]
    return [(loss.sentence, loss.aloud) for loss in losses if loss is not None]


def test_each_loss_is_told_with_its_length() -> None:
    """A short loss is noted, one in which a phrase may have gone is said aloud."""
    assert told((0, 0), (5, 0.3), (20, 0), (30, 1.4)) == [
        ("Sound was lost: 0.3 s.", False),
        ("Sound was lost: 1.4 s.", True),
    ]


def test_many_small_losses_are_told_together() -> None:
    """A machine that is too slow does not fill the journal, and all that was lost adds up."""
    assert told((0, 0.2), (1, 0.3), (2, 0.4), (3, 0.5), (9.9, 0), (10, 0)) == [
        ("Sound was lost: 0.2 s.", False),
        ("Sound was lost: 1.2 s, in 3 pieces.", True),
    ]


def test_a_great_loss_does_not_wait() -> None:
    """Of a phrase that may have gone the nurse hears at once."""
    assert told((0, 0.2), (1, 0.3), (2, 2.0)) == [
        ("Sound was lost: 0.2 s.", False),
        ("Sound was lost: 2.3 s, in 2 pieces.", True),
    ]


def test_lost_sound_is_noted_in_the_journal_and_spoken(tmp_path: Path) -> None:
    """What was lost stands in the leg, and the nurse is asked to say it again."""
    sitting = Sitting(tmp_path, says("start leg", "pressure fourteen"))
    blocks = sitting.session._source.blocks
    lost = {100: 0.2, 101: 1.6}  # after "start leg" has been answered

    def losing() -> object:
        for number, block in enumerate(blocks()):
            yield Block(block.start_s, block.samples, lost.get(number, 0.0))

    sitting.session._source.blocks = losing  # type: ignore[method-assign,assignment]
    sitting.run()
    assert [notice.text for notice in sitting.leg().notices] == [
        "Sound was lost: 0.2 s.",
        "Sound was lost: 1.6 s.",
    ]
    assert sitting.spoken.count(SPOKEN) == 1
