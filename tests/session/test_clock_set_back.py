from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from tests.session.scripted import ZERO_AT, Sitting, says
from voice.entries.leg import LegSettings
from voice.record.journal import Journal

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.parametrize(("moved_min", "told"), [(-90, True), (90, False)])
def test_a_clock_that_was_set_back_is_told(tmp_path: Path, moved_min: int, told: bool) -> None:
    """When a leg goes on before its own last event, the nurse hears at once to look at the clock."""
    folder = tmp_path / "legs" / "leg"
    with Journal.create(folder, LegSettings(), ZERO_AT, grammar_digest="", model_digest=""):
        pass
    now = ZERO_AT + timedelta(minutes=moved_min)
    sitting = Sitting(tmp_path / "legs", says(), Journal.open(folder, now))
    sitting.keeper.go_on(now)
    sitting.run()
    assert any("clock was set back" in sentence for sentence in sitting.spoken) == told
    assert any("clock was set back" in one.text for one in sitting.leg().notices) == told
