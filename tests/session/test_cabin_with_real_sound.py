"""A key that is pressed, and a nurse who falls in, with a real microphone and speaker."""

from __future__ import annotations

import os
from contextlib import closing
from datetime import UTC, datetime
from itertools import pairwise
from threading import Event, Timer
from typing import TYPE_CHECKING

import numpy as np
import pytest
import soundfile

from tests.pulse import DEVICE
from tests.session.conftest import until_spoken
from voice.dialogue.actions import Confirm, Keep, Tone, Withdraw
from voice.entries.heard import SAMPLE_RATE
from voice.session.attention import Way
from voice.session.preferences import Preferences
from voice.session.progress import Progress, SegmentHeard, Sounded, Spoken, Written
from voice.session.setups import Equipment, live

if TYPE_CHECKING:
    from collections.abc import Callable, Generator
    from pathlib import Path

    from numpy.typing import NDArray

    from tests.pulse import SoundServer

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("_time_limit")]
SILENT_S = 0.25
"""After the end of a word the speaker is silent by then."""


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


@pytest.mark.skipif(
    os.getloadavg()[0] > 2 * (os.cpu_count() or 1),
    reason="the machine is too busy for the sound server to keep time",
)
def test_it_falls_silent_within_a_quarter_of_a_second(
    spoken: Callable[..., Path], server: SoundServer, tmp_path: Path
) -> None:
    """A word into a headset's microphone over a read-back is obeyed, and the speaker is soon silent.

    A sound server that stumbles makes it deaf until its own voice has been learned anew, so on a busy machine
    more than one read-back may be needed. With the speaker in the microphone ``test_room`` holds it to the same.
    """
    files = {"mic_in": tmp_path / "mic.wav", "speaker": tmp_path / "speaker.wav"}
    recorders = [server.record(sink, file) for sink, file in files.items()]
    word, entry = "negative", "blood pressure one twenty four over seventy six"
    with closing(session_of(tmp_path, Preferences())) as progress:
        server.speak_into_microphone(spoken("start leg", after_s=1.5))
        until_spoken("leg started", progress)
        server.speak_into_microphone(spoken(entry, after_s=4.0))
        over = spoken(word, after_s=2.2)
        for one in progress:
            if isinstance(one, Spoken) and one.text.startswith("blood pressure"):
                server.speak_into_microphone(over)
                server.speak_into_microphone(spoken(entry, after_s=8.0))  # again, if need be
            if isinstance(one, Written) and isinstance(one.action, Withdraw):
                break
        until_spoken("taken out", progress)
    for recorder in recorders:
        recorder.terminate()
        recorder.wait()
    microphone, speaker = (soundfile.read(file, dtype="int16")[0] for file in files.values())
    said, _ = soundfile.read(over, dtype="int16")
    end_s = end_of_last(said[said.nonzero()[0][0] :], microphone)
    silent_s = next(at_s for at_s in silences_s(speaker) if at_s > end_s - 0.5)
    assert silent_s - end_s <= SILENT_S


def end_of_last(said: NDArray[np.int16], recording: NDArray[np.int16]) -> float:
    """Where in a recording a sound ends the last time that it is said, in s."""
    size = 1 << (len(recording) + len(said)).bit_length()
    whole, part = (np.fft.rfft(sound.astype(np.float64), size) for sound in (recording, said))
    alike = np.fft.irfft(whole * part.conj())[: len(recording)]
    (places,) = np.nonzero(alike > 0.8 * alike.max())
    return float(places[-1] + len(said)) / SAMPLE_RATE


def silences_s(recording: NDArray[np.int16]) -> list[float]:
    """When each silence of 0.2 s and more begins."""
    (loud,) = np.nonzero(np.abs(recording.astype(np.int32)) > 300)
    return [
        before / SAMPLE_RATE
        for before, after in pairwise([*loud, len(recording) + SAMPLE_RATE])
        if after - before > 0.2 * SAMPLE_RATE
    ]
