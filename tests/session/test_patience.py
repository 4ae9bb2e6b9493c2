"""What is whole is answered at once, what may go on is waited for, and nothing is heard twice."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import pytest

from tests.session.scripted import GRAMMAR, SETTINGS, Said, Sitting, says
from voice.capture.recordings import TAIL_S
from voice.dialogue.actions import Tone
from voice.entries.heard import SAMPLE_RATE, Alternative, Hearing, Segment
from voice.hearing.segmenter import AROUND_S, HANGOVER_S
from voice.meaning.decide import decide
from voice.meaning.listening import Listening
from voice.session.ears import Ears
from voice.session.patience import UNFINISHED_S, WHOLE_S, patience_s
from voice.session.progress import SegmentHeard, Sounded, Spoken

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

STATE = Listening.CONFIRMING
SAID_S = Said("").lasts_s


def hearing(*texts: str) -> Hearing:
    """These, each far likelier than the next."""
    return Hearing(tuple(Alternative(text, 40.0 - 15 * n) for n, text in enumerate(texts)))


@pytest.mark.parametrize(
    ("heard", "wait_s"),
    [
        (hearing("confirm", "[unk]"), WHOLE_S),
        (hearing("read last entry", "[unk]"), WHOLE_S),
        (hearing("read last", "[unk]"), HANGOVER_S),
        # what else it may have been goes on
        (hearing("read last entry", "read last", "[unk]"), HANGOVER_S),
        (hearing("no", "[unk]"), HANGOVER_S),
        (hearing("drain clamped", "[unk]"), HANGOVER_S),
        # "ago" is heard before it is said
        (hearing("drain clamped five minutes ago", "[unk]"), HANGOVER_S),
        (hearing("pressure fifteen", "pressure fifty"), HANGOVER_S),
        (hearing("heart rate", "[unk]"), UNFINISHED_S),
        (hearing("[unk]", "confirm"), HANGOVER_S),
        (hearing(), UNFINISHED_S),
    ],
)  # fmt: skip
def test_pause_is_as_long_as_there_may_be_more(heard: Hearing, wait_s: float) -> None:
    """Only a word of the talk that cannot go on is over early; what was not understood is over last."""
    decision = decide(heard, GRAMMAR, STATE, SETTINGS)
    assert patience_s(heard, decision, GRAMMAR, STATE) == wait_s


@dataclass
class Counting:
    """Hears "confirm" in everything, and counts how often."""

    heard: list[Segment] = field(default_factory=list)

    def hear(self, segment: Segment) -> Hearing:
        """It is always the same."""
        self.heard.append(segment)
        return hearing("confirm", "[unk]")


def test_what_was_heard_in_the_pause_is_not_heard_again() -> None:
    """A segment is heard once in each state; one that grew, or another state, is heard anew."""
    listener = Counting()
    ears = Ears(dict.fromkeys(Listening, listener), GRAMMAR, SETTINGS)
    half, whole = (Segment(0.0, np.zeros(n, dtype=np.int16), n / SAMPLE_RATE) for n in (800, 1600))
    assert ears.patience_s(half, STATE) == WHOLE_S
    assert ears.patience_s(whole, STATE) == WHOLE_S
    assert ears.make_out(whole, STATE) == ears.make_out(whole, STATE)
    assert listener.heard == [half, whole]
    ears.make_out(whole, Listening.CHECKING)
    assert listener.heard == [half, whole, whole]


def test_confirm_is_answered_sooner_than_a_number(tmp_path: Path) -> None:
    """After "confirm" the answer comes at once; a number is given time for its next figure."""
    heard = None
    waits_s: dict[str, float] = {}
    for one in Sitting(tmp_path, says("start leg", "pressure fourteen", "confirm")).run().progress:
        if isinstance(one, SegmentHeard):
            heard = one
        elif heard is not None and isinstance(one, Spoken | Sounded):
            waits_s.setdefault(heard.text, (one.at - heard.at).total_seconds() - AROUND_S - SAID_S)
    assert waits_s["confirm"] == pytest.approx(WHOLE_S, abs=0.05)
    assert waits_s["pressure fourteen"] == pytest.approx(HANGOVER_S, abs=0.05)


def test_silence_after_a_recording_ends_every_phrase() -> None:
    """What is put after a recording is longer than any pause that is waited for."""
    assert TAIL_S >= UNFINISHED_S + 0.05


def test_the_answer_is_made_in_the_pause(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is said after the pause was begun within it, when the entry was not kept yet."""
    sitting = Sitting(tmp_path, says("start leg", "pressure fourteen", "confirm", "last pressure"))
    begun: list[tuple[int, list[str]]] = []

    def prepare(turn: Sequence[Tone | str]) -> None:
        kept = len(sitting.leg().entries) if sitting.keeper.running else 0
        begun.append((kept, [what for what in turn if not isinstance(what, Tone)]))

    monkeypatch.setattr(sitting.mouth, "prepare", prepare)
    sitting.run()
    said = [one.text for one in sitting.progress if isinstance(one, Spoken)]
    assert [texts for _, texts in begun if texts] == [[text] for text in said]
    assert (0, ["pressure, one four"]) in begun
