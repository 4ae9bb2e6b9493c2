"""What the second listener heard is in the journal."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import numpy as np

from tests.session.scripted import SETTINGS, ZERO_AT
from voice.dialogue.actions import StartLeg
from voice.dialogue.state import StateName
from voice.entries.heard import Alternative, Hearing, SecondOpinion, Stand
from voice.meaning.decision import NotForUs
from voice.record.events import Heard, ScoredText, SecondHeard, from_text, to_text
from voice.record.shelf import verify
from voice.session.keeper import Keeper, Origin, Utterance

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

    from voice.record.events import Event


def test_both_opinions_are_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The event of what was heard holds the second's readings and how they stand, and the chain holds it."""
    keeper = Keeper(Origin(tmp_path, SETTINGS, "g" * 64, "m" * 64))
    keeper.do([StartLeg()], Utterance(ZERO_AT), ZERO_AT)
    kept: list[object] = []
    append = keeper._append

    def note(event: Event) -> None:
        kept.append(event)
        append(event)

    monkeypatch.setattr(keeper, "_append", note)
    opinion = SecondOpinion(Stand.DIFFERED, (Alternative("pressure five", -3.0),))
    for second in (opinion, SecondOpinion(Stand.LATE), None):
        keeper.note_down(
            np.zeros(800, np.int16),
            Hearing((Alternative("pressure nine", 40.0),), second),
            NotForUs(),
            StateName.LISTENING,
            start_at=ZERO_AT,
            end_at=ZERO_AT,
            now=ZERO_AT,
        )
    keeper.close()
    assert [one.second for one in kept if isinstance(one, Heard)] == [
        SecondHeard(
            stand=Stand.DIFFERED, alternatives=(ScoredText(text="pressure five", score=-3.0),)
        ),
        SecondHeard(stand=Stand.LATE),
        None,
    ]
    assert verify(keeper.folder).intact


def test_an_event_from_before_there_was_a_second_listener_is_read() -> None:
    """What an older program wrote has no second opinion."""
    new = Heard(
        at=ZERO_AT,
        start_at=ZERO_AT,
        end_at=ZERO_AT,
        alternatives=(),
        decision=NotForUs(),
        dialogue_state="listening",
    )
    old = json.loads(to_text(new))
    del old["second"]
    assert from_text(json.dumps(old)) == new
