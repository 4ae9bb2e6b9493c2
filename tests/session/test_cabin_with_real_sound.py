"""A key that is pressed, with a real microphone and speaker."""

from __future__ import annotations

import os
from contextlib import closing
from datetime import UTC, datetime
from threading import Event, Timer
from typing import TYPE_CHECKING

import pytest

from tests.pulse import DEVICE
from voice.dialogue.actions import Confirm, Keep, Tone, Withdraw
from voice.session.attention import Way
from voice.session.preferences import Preferences
from voice.session.progress import Progress, SegmentHeard, Sounded, Spoken, Written
from voice.session.setups import Equipment, live

if TYPE_CHECKING:
    from collections.abc import Callable, Generator
    from pathlib import Path

    from tests.pulse import SoundServer

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("_time_limit")]


def session_of(folder: Path, preferences: Preferences) -> Generator[Progress]:
    """A live session on the test's own sound server."""
    equipment = Equipment(root=folder / "legs", preferences=preferences)
    session = live(equipment, lambda: datetime.now(UTC), microphone=DEVICE, speaker=DEVICE)
    return session.run()


def test_a_key_lets_one_utterance_in(
    spoken: Callable[..., Path],
    server: SoundServer,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of what is said into a microphone only that is heard that follows a press of a key of the terminal."""
    steps = [  # what the program says, what is then said without a press, and behind one
        ("press a key", "end leg", "start leg"),
        ("leg started", "drain open", "drain clamped"),
        ("drain clamped", "no", "confirm"),
    ]
    foot, terminal = os.openpty()
    pressed, heard, written = Event(), list[str](), list[Keep | Confirm | Withdraw]()
    now = ""

    def press() -> None:
        pressed.set()
        os.write(foot, b" ")

    with os.fdopen(terminal) as stdin:
        monkeypatch.setattr("sys.stdin", stdin)
        with closing(session_of(tmp_path, Preferences(attention=Way.BUTTON))) as progress:
            for one in progress:
                match one:
                    case Spoken(text=text) if steps and text.startswith(steps[0][0]):
                        _, unheard, now = steps.pop(0)
                        server.speak_into_microphone(spoken(unheard, after_s=3.0))
                        Timer(5.5, press).start()
                    case Sounded(tone=Tone.HEARD) if pressed.is_set():
                        pressed.clear()
                        server.speak_into_microphone(spoken(now, after_s=0.7))
                    case SegmentHeard(text=text):
                        heard.append(text)
                    case Written(action=action):
                        written.append(action)
                        if isinstance(action, Confirm):
                            break
    os.close(foot)
    assert heard == ["start leg", "drain clamped", "confirm"]
    assert [type(action) for action in written] == [Keep, Confirm]
